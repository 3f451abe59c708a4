"""What lies on and stands by the ground of a section: sod, mulch, the day-one grade, buildings, trunks behind it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import LineString, Polygon, box
from shapely.geometry.base import BaseGeometry

from terrain.grid import Array, Mask
from terrain.site import day_one_factor
from viewer.page import (
    BUILDING,
    LEAST_FILL,
    PAPER,
    PROPOSED,
    SOFT_INK,
    TREE,
    Page,
    Pen,
    SectionLine,
    Subject,
    cut_gaps,
    hatch,
    pens,
    tree_circles,
)
from viewer.sheets.layers import building_hatch
from viewer.sheets.section_axis import Axis

SOD_TINT, MULCH_TINT = "#8a9a5b", "#b39b7d"
SOD_PEN, DAY_ONE_PEN = Pen(TREE, 0.6, (2.0, 1.2)), Pen(PROPOSED, 0.9, (2.5, 1.8))
TRUNK_PEN = Pen(TREE, 0.8, (3.0, 1.5))
STANDS = 30.0  # points that a building or a trunk is drawn above the ground: what goes on over that is no matter here
BEHIND = 1.5  # of a keep-off: a trunk as near to the section as that is shown behind it


@dataclass(frozen=True)
class Standing:
    """A building or a trunk on a section: stretch along it in metres, its name, and how far behind it stands (m)."""

    start: float
    end: float
    name: str
    behind: float = 0.0
    tree: bool = False


@dataclass(frozen=True)
class SectionCover:
    """What lies on the ground of a section.

    Parameters
    ----------
    worked
        (n,) where sod is stripped and mulch is laid.
    sod, mulch
        Their depths in metres.
    day_one
        (n,) elevations as built, before the soil settles, metres; None where the section shows that grade itself.
    standing
        Buildings and trunks.
    """

    worked: Mask
    sod: float
    mulch: float
    day_one: Array | None
    standing: tuple[Standing, ...]


def cover_of(subject: Subject, section: SectionLine, places: Array, fill: Array, existing: Array) -> SectionCover:
    """What lies and stands on a section at (n, 2) places with fill (n,) over existing grade (n,), metres."""
    bed = subject.site.bed
    worked = shapely.contains_xy(subject.proposal.worked, places[:, 0], places[:, 1])
    factor = day_one_factor(subject.site.soil.settlement)
    settles = subject.grade == "finished" and factor > 1.0
    day_one = existing + factor * np.maximum(fill, 0.0) if settles else None
    return SectionCover(
        worked, bed.sod, bed.mulch, day_one, (*_buildings(subject, section), *_trunks(subject, section))
    )


def _along(section: SectionLine, shape: BaseGeometry) -> tuple[float, float]:
    """From where to where a shape reaches along a section, metres."""
    start = np.array(section.start)
    way = (np.array(section.end) - start) / section.length
    reach = (shapely.get_coordinates(shape) - start) @ way
    return float(reach.min()), float(reach.max())


def _buildings(subject: Subject, section: SectionLine) -> list[Standing]:
    cut = ((one.name, section.line.intersection(one.outline)) for one in subject.site.building)
    return [Standing(*_along(section, shape), name) for name, shape in cut if shape.length > 0.05]


def _trunks(subject: Subject, section: SectionLine) -> list[Standing]:
    """Trunks as near to the section as their keep-off and half of it, where they stand beside it."""
    found = []
    for tree in tree_circles(subject.site):
        behind = float(section.line.distance(shapely.Point(tree.tree.at)))
        low, high = _along(section, tree.circle(max(tree.tree.trunk / 2.0, 0.02)))
        if behind <= BEHIND * tree.keep_off and low > 0.0 and high < section.length:
            found.append(Standing(low, high, tree.tree.name, behind, tree=True))
    return found


def runs(mask: Mask) -> list[tuple[int, int]]:
    """Half-open index ranges where a mask holds, one sample wider at each end so that lines meet the ground."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], mask, [False]]).astype(int)))
    return [(max(int(a) - 1, 0), min(int(b) + 1, mask.size)) for a, b in edges.reshape(-1, 2)]


def draw_cover(page: Page, axis: Axis, stations: Array, grades: tuple[Array, Array], cover: SectionCover) -> None:
    """Sod under existing grade, mulch on the proposed one, and the day-one grade as a line; `grades` are these two."""
    existing, proposed = grades
    spans = runs(cover.worked)
    for depth, grade, tint in ((-cover.sod, existing, SOD_TINT), (cover.mulch, proposed, MULCH_TINT)):
        if depth:
            page.area(shapely.union_all([_layer(axis, stations, grade, depth, span) for span in spans]), tint)
    if cover.day_one is not None:
        raised = cover.day_one - existing > LEAST_FILL
        lines = [LineString(axis.points(stations[a:b], cover.day_one[a:b])) for a, b in runs(raised)]
        page.lines(lines, DAY_ONE_PEN)


def _layer(axis: Axis, stations: Array, grade: Array, depth: float, span: tuple[int, int]) -> Polygon:
    """A layer of a depth (negative: under the grade) over a range of samples, on the paper."""
    a, b = span
    over, under = axis.points(stations[a:b], grade[a:b] + depth), axis.points(stations[a:b], grade[a:b])
    return Polygon(np.vstack([over, under[::-1]]))


def draw_standing(
    page: Page, axis: Axis, profile: tuple[Array, Array], cover: SectionCover, gaps: Sequence[BaseGeometry]
) -> None:
    """Buildings cut, trunks behind dashed; `profile` is stations and existing grade."""
    stations, existing = profile
    for one in cover.standing:
        shape = standing_shape(axis, stations, existing, one)
        if one.tree:
            page.area(shape, PAPER)
            edge = cut_gaps([shape.exterior], gaps)
            page.lines(edge, TRUNK_PEN if one.behind > 0.0 else Pen(TREE, 1.2))
            page.lines(cut_gaps([hatch(shape, 3.0, 90.0)], gaps), Pen(TREE, 0.4))
        else:
            page.area(shape, BUILDING)
            page.lines(cut_gaps([building_hatch(shape)], gaps), Pen(SOFT_INK, 0.5))
            page.lines(shape, pens.BUILDING_PEN)


def standing_shape(axis: Axis, stations: Array, existing: Array, one: Standing) -> Polygon:
    """A building or a trunk on the paper, from the ground up."""
    ends = np.array([max(one.start, 0.0), min(one.end, float(stations[-1]))])
    (left, foot), (right, other) = axis.points(ends, np.interp(ends, stations, existing))
    return box(left, min(foot, other), right, max(foot, other) + STANDS)
