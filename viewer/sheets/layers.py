"""What stands on every map: structures, trees, outline, shots; their marks, and where their words may go."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely
from shapely.geometry import LineString, MultiLineString, Point, Polygon
from shapely.geometry.base import BaseGeometry

from terrain.grid import Array
from terrain.ground import Ground
from terrain.site import Site
from terrain.units import show_length
from viewer.page import (
    BODY,
    BUILDING,
    HEADING,
    INK,
    KEEP_OFF,
    NUMBER,
    PAPER,
    ROOT_ZONE,
    SMALL,
    SOFT_INK,
    TREE,
    WALK,
    Label,
    Page,
    Pen,
    PlacedLabel,
    Seat,
    SectionLine,
    Sheet,
    TreeCircles,
    Type,
    cut_gaps,
    hatch,
    keep_off_entry,
    marks,
    pens,
    seats_ring,
    seats_round,
    structures,
    text_size,
    tree_circles,
    zone_entry,
)

CROWDED = 400  # shots in the frame from which they are specks without words


def building_hatch(area: BaseGeometry) -> BaseGeometry:
    """The hatch of buildings: widely spaced slanting lines."""
    return hatch(area, 7.0, 45.0)


def walk_hatch(area: BaseGeometry) -> BaseGeometry:
    """The hatch of ground kept clear: level lines."""
    return hatch(area, 5.0, 0.0)


def draw_structures(page: Page, sheet: Sheet, site: Site, gaps: Sequence[BaseGeometry] = ()) -> None:
    """Buildings and ground kept clear, tinted and hatched; the hatch leaves gaps for labels."""
    page.begin("buildings and walks")
    for clear in site.keep_clear:
        area = sheet.clipped(clear.outline)
        page.area(area, WALK)
        page.lines(cut_gaps([walk_hatch(area)], gaps), Pen(SOFT_INK, 0.35))
        page.lines(sheet.clipped(clear.outline.boundary), pens.WALK_PEN)
    for building in site.building:
        area = sheet.clipped(building.outline)
        page.area(area, BUILDING)
        page.lines(cut_gaps([building_hatch(area)], gaps), Pen(SOFT_INK, 0.5))
        page.lines(sheet.clipped(building.outline.boundary), pens.BUILDING_PEN)


def walls_on(sheet: Sheet, site: Site) -> BaseGeometry:
    """The walls on the paper that ground breaks off at: of buildings, of retained edges, and breaklines."""
    lines = [building.outline.boundary for building in site.building]
    lines += [LineString(edge.line) for edge in site.retained_edge]
    lines += [LineString(line[:, :2]) for line in site.survey.breaklines]
    return shapely.union_all([sheet.clipped(line) for line in lines])


def structure_labels(sheet: Sheet, site: Site) -> list[Label]:
    """The names of buildings (with floor level) and of ground kept clear."""
    labels = []
    for building in site.building:
        kind = Type(BODY, bold=True)
        area = sheet.clipped(building.outline)
        label = Label(building.name, seats_in(area, building.name, kind), kind, 0)
        if building.floor is not None:
            text = f"{building.name}, floor {show_length(building.floor, site.units, 'elevation')}"
            label = Label(text, seats_in(area, text, kind), kind, 0, instead=label)
        labels.append(label)
    for clear in site.keep_clear:
        area = sheet.clipped(clear.outline)
        labels.append(Label(clear.name, seats_in(area, clear.name, Type(NUMBER)), Type(NUMBER), 1))
    return labels


def seats_in(area: BaseGeometry, text: str, kind: Type, step: float = 14.0) -> tuple[Seat, ...]:
    """Seats where a text lies wholly inside an area on the paper, level or upright, the most inner first.

    Where the area is too narrow for that, seats at its middle, which may reach over its edge.
    """
    if area.is_empty or area.area < 60.0:
        return ()
    middle = area.centroid if area.contains(area.centroid) else area.representative_point()
    left, bottom, right, top = area.bounds
    across, up = np.meshgrid(np.arange(left + step / 2, right, step), np.arange(bottom + step / 2, top, step / 2))
    spots = np.column_stack([across.ravel(), up.ravel()])
    far = np.hypot(spots[:, 0] - middle.x, spots[:, 1] - middle.y)
    spots = np.vstack([[middle.x, middle.y], spots[np.argsort(far, kind="stable")]])
    wide, high = (half + 2.0 for half in text_size(text, kind))
    inside = []
    for angle, reach in ((0.0, (wide, high)), (90.0, (high, wide))):
        room = np.array(reach) / 2
        boxes = shapely.box(*(spots - room).T, *(spots + room).T)
        inside += [Seat(float(a), float(u), angle) for a, u in spots[shapely.contains(area, boxes)][:30]]
    return tuple(inside) or tuple(Seat(middle.x, middle.y, angle) for angle in (0.0, 90.0))


def draw_trees(page: Page, sheet: Sheet, trees: Sequence[TreeCircles], gaps: Sequence[BaseGeometry] = ()) -> None:
    """Root zone, keep-off (dashed and hatched), flare and trunk of every tree; lines leave gaps for labels."""
    page.begin("trees")
    for tree in trees:
        page.lines(cut_gaps([sheet.clipped(tree.circle(tree.root_zone).exterior)], gaps), pens.ZONE_PEN)
        disc = sheet.clipped(tree.circle(tree.keep_off))
        page.area(disc, "#ffffff", 0.55)
        page.lines(cut_gaps([hatch(disc, 6.0, -45.0)], gaps), Pen(KEEP_OFF, 0.3))
        page.lines(sheet.clipped(tree.circle(tree.keep_off).exterior), pens.KEEP_OFF_PEN)
        page.area(sheet.clipped(tree.circle(tree.flare)), PAPER)
        page.lines(sheet.clipped(tree.circle(tree.flare).exterior), Pen(TREE, 1.2))
        page.area(sheet.clipped(tree.circle(tree.tree.trunk / 2)), TREE)


def soft_ground(sheet: Sheet, site: Site) -> list[BaseGeometry]:
    """What labels would rather not cover: outline, bed, keep-offs and root zones, structures."""
    shapes: list[BaseGeometry] = [site.bed.outline.boundary, site.bed.outline]
    for tree in tree_circles(site):
        shapes += [tree.circle(tree.keep_off), tree.circle(tree.root_zone).exterior]
    shapes += structures(site)
    return [sheet.clipped(shape) for shape in shapes]


def tree_labels(sheet: Sheet, site: Site, trees: Sequence[TreeCircles]) -> list[Label]:
    """Name and trunk of every tree, its keep-off and its root zone."""
    labels = []
    for tree in trees:
        name = f"{tree.tree.name}, trunk {show_length(tree.tree.trunk, site.units)}"
        kind = Type(BODY, TREE, bold=True)
        centre = sheet.points(np.array([tree.tree.at]))[0]
        flare = tree.flare * sheet.scale.points
        off = tree.keep_off * sheet.scale.points
        keep_off = f"keep-off {show_length(tree.keep_off, site.units, 'distance')}"
        labels.append(
            Label(
                name,
                seats_ring(centre[0], centre[1], name, kind, (off,))
                + seats_round(centre[0], centre[1], name, kind, flare),
                kind,
                0,
                "tree",
            )
        )
        small = Type(NUMBER, KEEP_OFF)
        labels.append(Label(keep_off, seats_ring(centre[0], centre[1], keep_off, small, (off,)), small, 1, "keep-off"))
        zone = f"{ROOT_ZONE} of {tree.tree.name}, {show_length(tree.root_zone, site.units, 'distance')}"
        seats = seats_within(centre, tree.root_zone * sheet.scale.points, zone, Type(SMALL, TREE))
        labels.append(Label(zone, seats, Type(SMALL, TREE), 2, ROOT_ZONE))
    return labels


def seats_within(centre: Array, radius: float, text: str, kind: Type) -> tuple[Seat, ...]:
    """Seats along the inner side of a wide circle, the text a chord that clears the line."""
    wide, high = text_size(text, kind)
    if radius < 0.8 * wide:
        return ()
    off = np.sqrt(radius**2 - (wide / 2) ** 2) - high / 2 - 2.5
    seats = []
    for turn in range(0, 360, 4):
        away = np.radians((turn + 250) % 360)
        angle = (turn + 250 + 90) % 360
        angle -= 180 if 90 < angle <= 270 else 360 if angle > 270 else 0
        spot = centre + off * np.array([np.cos(away), np.sin(away)])
        seats.append(Seat(float(spot[0]), float(spot[1]), float(angle)))
    return tuple(seats)


def longest_first(lines: BaseGeometry) -> list[LineString]:
    """The single lines of some geometry, joined where they meet, the longest first."""
    merged = shapely.line_merge(lines) if lines.geom_type == "MultiLineString" else lines
    parts = [part for part in shapely.get_parts(merged) if part.geom_type == "LineString"]
    return sorted(parts, key=lambda part: -part.length)


def draw_outline(page: Page, sheet: Sheet, outline: Polygon) -> None:
    """The bed outline, the heaviest line of the drawing."""
    page.begin("bed outline")
    page.lines(sheet.clipped(outline.boundary), pens.OUTLINE_PEN)


def crosses(spots: Array, half: float) -> MultiLineString:
    """A small upright cross at every (n, 2) point on the paper."""
    right, rise = np.array([half, 0.0]), np.array([0.0, half])
    return MultiLineString(
        [[tuple(p - arm), tuple(p + arm)] for p in np.asarray(spots, dtype=float) for arm in (right, rise)]
    )


def shots_in_frame(sheet: Sheet, site: Site) -> Array:
    """(n, 2) points on the paper of the shots that lie in the frame."""
    spots = sheet.points(site.survey.shots[:, :2] if site.survey.measured else np.empty((0, 2)))
    shown: Array = spots[shapely.contains_xy(sheet.room.buffer(-4.0), spots[:, 0], spots[:, 1])]
    return shown


def shot_spots(sheet: Sheet, site: Site) -> Array:
    """The shots in the frame that no label may cover, (n, 2): none where they stand too thick for words."""
    shown = shots_in_frame(sheet, site)
    return shown if len(shown) <= CROWDED else shown[:0]


def doubtful_spots(sheet: Sheet, ground: Ground) -> list[tuple[str, Point]]:
    """Name and point on the paper of the doubtful shots in the frame."""
    found = [(doubt.name, sheet.shape(Point(doubt.at))) for doubt in ground.check.doubtful]
    return [(name, point) for name, point in found if sheet.room.buffer(-4.0).contains(point)]


def standing_legend(site: Site, rule: str = "no fill, no digging") -> list[tuple[marks.Swatch, str]]:
    """Legend entries of the trees' lines and of the structures that the site has; `rule` is that of a keep-off."""
    entries: list[tuple[marks.Swatch, str]] = [keep_off_entry(rule), zone_entry()] if site.tree else []
    if site.building:
        entries.append((marks.area_swatch(BUILDING, pens.BUILDING_PEN, building_hatch), "building"))
    if site.keep_clear:
        entries.append((marks.area_swatch(WALK, pens.WALK_PEN, walk_hatch), "kept clear"))
    return entries


def draw_shots(page: Page, sheet: Sheet, site: Site, ground: Ground, ink: str = SOFT_INK) -> None:
    """Shots as small crosses, as specks where they stand thick; the doubtful ones heavier and ringed.

    On tints they take a darker `ink` than on paper.
    """
    page.begin("shots")
    shown = shots_in_frame(sheet, site)
    thick = len(shown) > CROWDED
    pen = pens.SPECK_PEN if thick else pens.CROSS_PEN
    page.lines(crosses(shown, 0.45 if thick else 2.3), replace(pen, colour=ink))
    for _, point in doubtful_spots(sheet, ground):
        page.lines(crosses(np.array([[point.x, point.y]]), 3.0), pens.DOUBT_PEN)
        page.lines(point.buffer(6.0).exterior, Pen(KEEP_OFF, 1.1))


def section_labels(sheet: Sheet, sections: Sequence[SectionLine]) -> list[Label]:
    """The letters at the ends of the section lines: A and A', B and B'."""
    labels = []
    for section in sections:
        line = sheet.clipped(section.line)
        if line.is_empty or line.geom_type != "LineString":
            continue
        ends = shapely.get_coordinates(line)[[0, -1]]
        kind = Type(HEADING + 1.5, INK, bold=True, title=True)
        for k, (end, other) in enumerate(zip(ends, ends[::-1], strict=True)):
            away = (end - other) / np.hypot(*(end - other))
            text = section.letter + "′" * k
            shifts = [end + off * away for off in (9.0, 13.0, 4.0, -6.0)]
            shifts += [end + 10.0 * np.array([-away[1], away[0]]) * side for side in (1, -1)]
            seats = tuple(Seat(float(p[0]), float(p[1])) for p in shifts)
            labels.append(Label(text, seats, kind, 0, "section"))
    return labels


def write_labels(page: Page, placed: Sequence[PlacedLabel]) -> None:
    """Set the placed labels, each tied to its place by the leader of its seat."""
    page.begin("words")
    for item in placed:
        if isinstance(item.seat.also, LineString):
            page.lines(item.seat.also, Pen(item.label.kind.colour, 0.5))
        page.text(item.seat.across, item.seat.up, item.label.text, item.label.kind, "centre", angle=item.seat.angle)


def draw_peak(page: Page, across: float, up: float) -> None:
    """The mark of a crest point: a small solid triangle."""
    page.area(Polygon([(across - 3.6, up - 2.6), (across + 3.6, up - 2.6), (across, up + 4.0)]), INK)
