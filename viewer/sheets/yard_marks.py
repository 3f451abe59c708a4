"""Walks, stepping stones, soil heaps and drip lines on a map: their marks, names and legend entries."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from shapely.geometry import LineString, Point
from shapely.geometry.base import BaseGeometry
from shapely.ops import substring

from terrain.numerics import merged
from terrain.site import Site
from terrain.units import show_length
from viewer.page import (
    INK,
    NUMBER,
    PAPER,
    SMALL,
    SOFT_INK,
    TREE,
    WALK,
    Label,
    Page,
    Pen,
    Sheet,
    TreeCircles,
    Type,
    cut_gaps,
    hatch,
    marks,
    pens,
    seats_along,
    seats_ring,
    seats_round,
)
from viewer.sheets import layers

DRIP_PEN = Pen(TREE, 1.0, (3.0, 2.0))
HEAP_PEN = Pen(INK, 1.2, (4.0, 1.5))
STEP = 1.45  # of a walk's width: from the middle of one stepping stone to the next
STONE = 0.42  # of a walk's width: half of a stone along it


def heap_hatch(area: BaseGeometry) -> BaseGeometry:
    """The hatch of ground under a soil heap: crossed lines."""
    return merged([hatch(area, 6.0, 45.0), hatch(area, 6.0, -45.0)])


def walk_shapes(site: Site) -> list[BaseGeometry]:
    """What each walk covers, metres: a band as wide as it is, or its stones one by one."""
    found = []
    for walk in site.walk:
        line = LineString(walk.line)
        half = walk.width / 2.0
        found.append(_stones(line, walk.width) if walk.stepping else line.buffer(half, cap_style="flat"))
    return found


def _stones(line: LineString, wide: float) -> BaseGeometry:
    """Rounded stones along a line, metres."""
    count = max(int(line.length / (STEP * wide)), 1)
    stations = (np.arange(count) + 0.5) * line.length / count
    reach = STONE * wide
    pieces = [substring(line, max(at - reach, 0.0), min(at + reach, line.length)) for at in stations.tolist()]
    return merged([piece.buffer(0.3 * wide, cap_style="round") for piece in pieces])


def draw_walks(page: Page, sheet: Sheet, site: Site, gaps: Sequence[BaseGeometry] = ()) -> None:
    """Walks and stepping stones, and the heaps of soil."""
    page.begin("walks and heaps")
    for shape in walk_shapes(site):
        area = sheet.clipped(shape)
        page.area(area, WALK)
        page.lines(cut_gaps([sheet.clipped(shape.boundary)], gaps), pens.WALK_PEN)
    for heap in site.heap:
        area = sheet.clipped(heap.outline)
        page.lines(cut_gaps([heap_hatch(area)], gaps), Pen(INK, 0.4))
        page.lines(area, HEAP_PEN)


def draw_drip_lines(page: Page, sheet: Sheet, trees: Sequence[TreeCircles], gaps: Sequence[BaseGeometry] = ()) -> None:
    """The edge of every crown that was measured."""
    page.begin("drip lines")
    for tree in trees:
        if tree.tree.dripline:
            crown = tree.circle(tree.tree.dripline).exterior
            page.lines(cut_gaps([sheet.clipped(crown)], gaps), DRIP_PEN)


def yard_labels(sheet: Sheet, site: Site, trees: Sequence[TreeCircles]) -> list[Label]:
    """The names of walks and heaps, and which line is whose drip line."""
    labels = []
    for walk, shape in zip(site.walk, walk_shapes(site), strict=True):
        kind, line = Type(NUMBER, SOFT_INK), sheet.clipped(LineString(walk.line))
        spot = sheet.shape(shape).representative_point()
        along = [seat for part in layers.longest_first(line)[:1] for seat in seats_along(part, walk.name, kind)[:30]]
        labels.append(Label(walk.name, (*along, *seats_round(spot.x, spot.y, walk.name, kind, 8.0)), kind, 2))
    for heap in site.heap:
        kind, area = Type(NUMBER, INK), sheet.clipped(heap.outline)
        labels.append(Label(heap.name, layers.seats_in(area, heap.name, kind), kind, 2))
    for tree in trees:
        if tree.tree.dripline:
            kind = Type(SMALL, TREE)
            text = f"drip line of {tree.tree.name}, {show_length(tree.tree.dripline, site.units, 'distance')}"
            centre, radius = sheet.points(np.array([tree.tree.at]))[0], tree.tree.dripline * sheet.scale.points
            seats = layers.seats_within(centre, radius, text, kind)
            ring = seats_ring(float(centre[0]), float(centre[1]), text, kind, (radius,))
            labels.append(Label(text, (*seats, *ring), kind, 2, "drip line"))
    return labels


def yard_legend(site: Site) -> list[tuple[marks.Swatch, str]]:
    """Legend entries of the kinds that the site has."""
    entries: list[tuple[marks.Swatch, str]] = []
    if any(not walk.stepping for walk in site.walk):
        entries.append((marks.area_swatch(WALK, pens.WALK_PEN), "walk"))
    if any(walk.stepping for walk in site.walk):
        entries.append((_stones_swatch, "stepping stones"))
    if site.heap:
        entries.append((marks.area_swatch(PAPER, HEAP_PEN, heap_hatch), "soil heap"))
    if any(tree.dripline for tree in site.tree):
        entries.append((marks.line_swatch(DRIP_PEN), "drip line"))
    return entries


def _stones_swatch(page: Page, bounds: tuple[float, float, float, float]) -> None:
    """Three stones in a row."""
    left, bottom, right, top = bounds
    for share in (0.18, 0.5, 0.82):
        stone = Point(left + share * (right - left), (bottom + top) / 2).buffer(3.2)
        page.area(stone, WALK)
        page.lines(stone.exterior, pens.WALK_PEN)
