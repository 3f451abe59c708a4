"""Elevations that a plan gives for one grade: contours, spots, faces, and lines that rise."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import shapely
from shapely.geometry import LineString

from terrain.grid import Array
from terrain.site import as_points
from terrain.survey.headings import ELEVATION
from terrain.survey.plan.drawn import DrawnLabel, DrawnLine, DrawnPlan, DrawnSymbol, Spot
from terrain.survey.plan.spot_labels import contour_label, spot_label

_NEAR = 3.0  # heights of its letters within which a figure belongs to a point or a line
_SAME = 0.02  # metres: a figure that says what its point or contour says already


_Figure = tuple[DrawnLabel, float]  # a label, and the elevation that it writes, metres


@dataclass(frozen=True)
class PlanHeights:
    """What a plan says of one grade, metres.

    Parameters
    ----------
    contours
        (n, 3) corners of each level line.
    lines
        (n, 3) corners of each line that rises: a breakline.
    spots
        (n, 3) places with an elevation.
    faces
        (n, 3, 3) triangles.
    notes
        What was taken from labels, and what was left out.
    """

    contours: tuple[Array, ...]
    lines: tuple[Array, ...]
    spots: Array
    faces: Array
    notes: tuple[str, ...]

    @property
    def corners(self) -> Array:
        """(n, 3) every place with an elevation."""
        parts = [*self.contours, *self.lines, self.spots, self.faces.reshape(-1, 3)]
        return np.vstack(parts) if parts else np.empty((0, 3))

    @property
    def words(self) -> str:
        """ "12 contours, 40 spot elevations"."""
        told = (
            (len(self.contours), "contour", "contours"),
            (len(self.lines), "line that rises", "lines that rise"),
            (len(self.spots), "spot elevation", "spot elevations"),
            (len(self.faces), "face", "faces"),
        )
        return ", ".join(f"{count:,} {one if count == 1 else many}" for count, one, many in told if count) or "nothing"


def heights_of(plan: DrawnPlan, layers: Mapping[str, Sequence[str]], grade: str, figure: float) -> PlanHeights:
    """What a plan in metres says of one grade.

    Parameters
    ----------
    plan
        The plan.
    layers
        Layers by grade; a label that names the other grade than its layer counts with the one that it names.
    grade
        Which one is asked for.
    figure
        Metres in the unit of written elevations.
    """
    every = tuple(name for names in layers.values() for name in names)
    labels, mine = _on(plan, every).labels, _on(plan, layers.get(grade, ()))
    level, rising, notes = _lines(mine.lines, labels, figure, plan.label)
    marked = (*(one.at for one in mine.points), *(_raised(one, figure) for one in mine.symbols))
    spots, used = _spots(marked, labels, grade, figure)
    rest = _without(labels, (*used, *_on_contours(labels, level)))
    written = _written(rest, layers, grade, figure)
    if written:
        notes.append(
            f"{plan.label}: {len(written)} {grade} spot elevations were read from texts, at their first letter."
        )
    faces = np.array([one.points for one in mine.faces], dtype=float).reshape(-1, 3, 3)
    return PlanHeights(tuple(level), tuple(rising), as_points([*spots, *written]), faces, tuple(notes))


def _without(labels: Sequence[DrawnLabel], used: Sequence[DrawnLabel]) -> list[DrawnLabel]:
    gone = {id(label) for label in used}
    return [label for label in labels if id(label) not in gone]


def _on(plan: DrawnPlan, layers: Sequence[str]) -> DrawnPlan:
    """The part of a plan that lies on some layers, all that may say an elevation."""
    kinds = ("lines", "points", "symbols", "faces", "labels")
    parts: dict[str, Any] = {kind: _laid_on(getattr(plan, kind), layers) for kind in kinds}
    return replace(plan, **parts)


def _laid_on(parts: Sequence[Any], layers: Sequence[str]) -> tuple[Any, ...]:
    return tuple(one for one in parts if one.layer in layers)


def _written(
    labels: Sequence[DrawnLabel], layers: Mapping[str, Sequence[str]], grade: str, figure: float
) -> list[Spot]:
    """Spot elevations that stand for themselves, of one grade: as the label says, or else as its layer does."""
    by_layer = {name: own for own, names in layers.items() for name in names}
    read = ((label, spot_label(label.text)) for label in labels)
    return [
        (label.at[0], label.at[1], said.elevation * figure)
        for label, said in read
        if said is not None and (said.grade or by_layer[label.layer]) == grade
    ]


def _raised(symbol: DrawnSymbol, figure: float) -> Spot:
    """The place of a symbol at the elevation that its attribute writes, or that it stands at."""
    for tag, text in symbol.written.items():
        said = spot_label(text) if tag.lower() in ELEVATION or "elev" in tag.lower() else None
        if said is not None:
            return symbol.at[0], symbol.at[1], said.elevation * figure
    return symbol.at


def _lines(
    lines: Sequence[DrawnLine], labels: Sequence[DrawnLabel], figure: float, label: str
) -> tuple[list[Array], list[Array], list[str]]:
    """Level lines, lines that rise, and notes; a line at elevation 0 takes what a figure on it says."""
    level: list[Array] = []
    rising: list[Array] = []
    flat: list[Array] = []
    for line in lines:
        points = line.points
        if len(points) < 2:
            continue
        if np.ptp(points[:, 2]) > 1e-6:
            rising.append(points)
        else:
            (flat if points[0, 2] == 0.0 else level).append(points)
    if not flat:
        return level, rising, []
    lifted, lost = _lifted(flat, labels, figure)
    notes = [f"{label}: {len(lifted)} contours drawn flat took the elevation written on them."] if lifted else []
    notes += [f"{label}: {lost} lines at elevation 0 with no figure on them were left out."] if lost else []
    return [*level, *lifted], rising, notes


def _lifted(flat: Sequence[Array], labels: Sequence[DrawnLabel], figure: float) -> tuple[list[Array], int]:
    """Flat lines at the elevation of the nearest figure on each, and how many have none."""
    best: dict[int, tuple[float, float]] = {}
    for label, line, away in _on_lines(labels, flat, _NEAR):
        value = contour_label(label.text)
        if value is not None and away < best.get(line, (math.inf, 0.0))[0]:
            best[line] = away, value
    lifted = [
        np.column_stack([flat[k][:, :2], np.full(len(flat[k]), value * figure)]) for k, (_, value) in best.items()
    ]
    return lifted, len(flat) - len(lifted)


def _spots(
    places: Sequence[Spot], labels: Sequence[DrawnLabel], grade: str, figure: float
) -> tuple[list[Spot], list[DrawnLabel]]:
    """Points and symbols with an elevation of their own or of the figure beside them, and the labels that are used."""
    read = _read(labels, grade, figure)
    beside = _beside(places, [label for label, _ in read])
    own = [(at, None if number is None else read[number]) for at, number in zip(places, beside, strict=True)]
    used = [mine[0] for at, mine in own if mine is not None and _is_of(at, mine[1])]
    return _at_heights(own), used


def _read(labels: Sequence[DrawnLabel], grade: str, figure: float) -> list[_Figure]:
    """Labels that write a spot elevation and do not name the other grade, with that elevation in metres."""
    said = ((label, spot_label(label.text)) for label in labels)
    return [(label, one.elevation * figure) for label, one in said if one is not None and one.grade in ("", grade)]


def _is_of(at: Spot, elevation: float) -> bool:
    """Whether a figure beside a place says its elevation, and no other thing's."""
    return at[2] == 0.0 or abs(elevation - at[2]) <= _SAME


def _at_heights(own: Sequence[tuple[Spot, _Figure | None]]) -> list[Spot]:
    """Places at their own elevations; one drawn at 0 at that of the figure beside it, or not at all."""
    raised = []
    for at, mine in own:
        if at[2] != 0.0 or mine is not None:
            raised.append((at[0], at[1], at[2] if at[2] != 0.0 or mine is None else mine[1]))
    return raised


def _beside(places: Sequence[Spot], labels: Sequence[DrawnLabel]) -> list[int | None]:
    """Number of the label nearest to each place, None where that is farther than its letters allow."""
    if not labels or not places:
        return [None] * len(places)
    from scipy.spatial import cKDTree

    away, number = cKDTree([label.at[:2] for label in labels]).query([at[:2] for at in places])
    return [
        int(k) if distance < _NEAR * labels[int(k)].height else None for distance, k in zip(away, number, strict=True)
    ]


def _on_contours(labels: Sequence[DrawnLabel], level: Sequence[Array]) -> Iterator[DrawnLabel]:
    """Figures that say no more than the contour that they stand on."""
    for label, _, _ in _on_lines(labels, level, _NEAR / 2.0):
        if contour_label(label.text) is not None:
            yield label


def _on_lines(
    labels: Sequence[DrawnLabel], lines: Sequence[Array], near: float
) -> Iterator[tuple[DrawnLabel, int, float]]:
    """Labels within so many heights of their letters from a line, with the nearest line's number and distance."""
    if not labels or not lines:
        return
    shapes = np.array([LineString(points[:, :2]) for points in lines], dtype=object)
    spots = shapely.points([label.at[:2] for label in labels])
    found, away = shapely.STRtree(shapes).query_nearest(
        spots,
        max_distance=max(near * max(label.height for label in labels), 1e-9),
        return_distance=True,
        all_matches=False,
    )
    for label, line, distance in zip(found[0], found[1], away, strict=True):
        if distance < near * labels[int(label)].height:
            yield labels[int(label)], int(line), float(distance)
