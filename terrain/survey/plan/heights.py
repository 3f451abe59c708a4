"""Elevations that a plan gives for one grade: contours, spots, faces, and lines that rise."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import LineString

from terrain.grid import Array
from terrain.survey.plan.drawn import DrawnLabel, DrawnLine, DrawnPlan, DrawnSymbol, Spot
from terrain.survey.plan.spot_labels import contour_label, spot_label
from terrain.survey.table import ELEVATION

_NEAR = 3.0  # heights of its letters within which a figure belongs to a point or a line
_SAME = 0.02  # metres: a figure that says what its point or contour says already


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
    mine, both = set(layers.get(grade, ())), {name for names in layers.values() for name in names}
    labels = [one for one in plan.labels if one.layer in both]
    level, rising, notes = _lines([one for one in plan.lines if one.layer in mine], labels, figure, plan.label)
    marked = [(one.at, one.layer) for one in plan.points if one.layer in mine]
    marked += [(_raised(one, figure), one.layer) for one in plan.symbols if one.layer in mine]
    spots, used = _spots([at for at, _ in marked], labels, grade, figure)
    mistaken = {id(label) for label in used} | {id(label) for label in _on_contours(labels, level)}
    written = [
        (*label.at[:2], said.elevation * figure)
        for label in labels
        if id(label) not in mistaken
        and (said := spot_label(label.text)) is not None
        and (said.grade or _grade_by_layer(label, layers)) == grade
    ]
    if written:
        notes.append(
            f"{plan.label}: {len(written)} {grade} spot elevations were read from texts, at their first letter."
        )
    faces = [one.points for one in plan.faces if one.layer in mine]
    return PlanHeights(
        tuple(level),
        tuple(rising),
        np.array([*spots, *written], dtype=float).reshape(-1, 3),
        np.array(faces, dtype=float).reshape(-1, 3, 3),
        tuple(notes),
    )


def _grade_by_layer(label: DrawnLabel, layers: Mapping[str, Sequence[str]]) -> str:
    return next((grade for grade, names in layers.items() if label.layer in names), "")


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
    said = ((label, spot_label(label.text)) for label in labels)
    read = [(label, one.elevation * figure) for label, one in said if one is not None and one.grade in ("", grade)]
    beside = _beside(places, [label for label, _ in read])
    spots: list[Spot] = []
    used: list[DrawnLabel] = []
    for at, number in zip(places, beside, strict=True):
        mine = None if number is None else read[number]
        if mine is not None and (at[2] == 0.0 or abs(mine[1] - at[2]) <= _SAME):
            used.append(mine[0])
        if at[2] != 0.0 or mine is not None:
            spots.append((at[0], at[1], at[2] if at[2] != 0.0 or mine is None else mine[1]))
    return spots, used


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
