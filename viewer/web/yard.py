"""Plain values that the page draws from: metres from the page's corner, words in the site's units."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence

import numpy as np
import shapely
from shapely.geometry import LineString, Polygon, box
from shapely.geometry.base import BaseGeometry

from terrain.grid import Array
from terrain.ground import lie_of
from terrain.numerics import overlap
from terrain.photograph import picture_above
from terrain.shape import Proposal
from terrain.site import HOUSE_HEIGHT, Site, north_of, tree_form
from terrain.units import Units
from viewer.page import (
    Subject,
    contour_interval,
    depth_step,
    level_text,
    long_axis,
    palette,
    section_lines,
    strong_every,
    tree_circles,
)
from viewer.pictures import STAFF_RADIUS, staff_size, view_direction
from viewer.sheets import picture_in
from viewer.web.owner_photo import picture_link
from viewer.web.scenery import laid_of, scenery_of
from viewer.web.window import Shown

Plain = dict[str, object]
Spot = tuple[float, float]
PLACES = 4  # decimals of a metre in the page
AIR_PIXELS = 1400  # along the longer side of a picture from above
THING_WIDE = 0.2  # metres: radius of the mark of a thing that stands in one place
LEAST_AREA = 0.05  # m2: a smaller scrap of a walk at the edge is not shown


def yard_of(subject: Subject, shown: Shown) -> Plain:
    """Everything on the page that does not change while a berm is shaped, and the berm as the site wishes it.

    Coordinates are metres from the south-west node shown, heights from a contour under all ground shown; `origin`
    takes both back to the survey.
    """
    site = subject.site
    existing, proposed = shown.of(subject.ground.elevation), shown.of(subject.proposal.elevation)
    levels = levels_of(site.units, existing, proposed)
    base = base_of(levels, existing)
    frame = _Frame(shown, base)
    toward = view_direction(subject)
    return {
        "name": site.name,
        "units": site.units,
        "origin": [*shown.corner, base],
        **_under_the_plan(subject, shown),
        "toward": round(float(np.degrees(np.arctan2(toward[1], toward[0]))), 2),
        "look": look_of(site.units, levels, float(np.abs(proposed - existing).max())),
        "trees": _trees(site, frame),
        "clear": _areas(_clear(site), frame),
        "things": _things(site, frame),
        "buildings": _buildings(site, frame),
        "retained": [{"line": frame.spots(edge.line)} for edge in site.retained_edge],
        "water": water_of(subject.proposal, shown.corner),
        "scenery": scenery_of(subject, shown),
        "laid": laid_of(subject, shown.corner, base),
        "staff": _staff(site.units, frame.spot(*_staff_place(subject, shown, toward))),
        "sections": [
            {"letter": line.letter, "start": frame.place(*line.start), "end": frame.place(*line.end)}
            for line in section_lines(site, subject.proposal)
        ],
        "wish": wish_of(site, shown.corner),
    }


def _under_the_plan(subject: Subject, shown: Shown) -> Plain:
    """Which north the arrow points to, a picture of the ground from above, and what is said of the lie of it all."""
    site = subject.site
    north, picture = north_of(site), picture_above(site, subject.ground)
    said = [lie_of(site, subject.ground).text, north.said]
    told: Plain = {"north": round(math.degrees(north.turn), 2), "air": None}
    if picture is not None:
        _, _, wide, high = _reach(shown)
        scale = AIR_PIXELS / max(wide, high)
        size = max(round(wide * scale), 1), max(round(high * scale), 1)
        window = shown.corner[0], shown.corner[1], shown.corner[0] + float(wide), shown.corner[1] + float(high)
        told["air"] = picture_link(picture_in(picture, window, size))
        said.append(picture.said)
    return {**told, "falls": " ".join(said)}


class _Frame:
    """Survey coordinates to those of the page."""

    def __init__(self, shown: Shown, base: float) -> None:
        self.corner, self.base = shown.corner, base
        self.room = box(*(np.array([*shown.corner, *shown.corner]) + _reach(shown)))

    def spot(self, east: float, north: float) -> list[float]:
        return [round(east - self.corner[0], PLACES), round(north - self.corner[1], PLACES)]

    def place(self, east: float, north: float) -> Plain:
        x, y = self.spot(east, north)
        return {"x": x, "y": y}

    def spots(self, points: Sequence[Spot] | Array) -> list[list[float]]:
        return [self.spot(float(x), float(y)) for x, y in points]

    def parts(self, shape: BaseGeometry) -> list[Polygon]:
        """What of an area lies in the ground that is shown."""
        parts = shapely.get_parts(overlap(shape, self.room))
        return [part for part in parts if part.geom_type == "Polygon" and part.area > LEAST_AREA]


def _reach(shown: Shown) -> Array:
    """West, south, east, north of the shown ground from its corner, metres."""
    grid = shown.grid
    return np.array([0.0, 0.0, grid.cell * (grid.nx - 1), grid.cell * (grid.ny - 1)])


def levels_of(units: Units, existing: Array, proposed: Array) -> tuple[float, int]:
    """Contour interval in metres for the elevations in view (metres), and every how many one is drawn stronger."""
    low, high = float(min(existing.min(), proposed.min())), float(max(existing.max(), proposed.max()))
    interval = contour_interval(low, high, units)
    return interval, strong_every(interval, units)


def look_of(units: Units, levels: tuple[float, int], deepest: float) -> Plain:
    """Contours, step of the depth tints (for the deepest fill or cut, metres) and colours."""
    interval, strong = levels
    return {
        "interval": interval,
        "strong": strong,
        "places": len(level_text(0.0, interval, units).partition(".")[2]),
        "depth_step": depth_step(deepest, units),
        "colours": {
            "paper": palette.PAPER,
            "ink": palette.INK,
            "meadow": palette.MEADOW,
            "fill": palette.FILL_STEPS,
            "cut": palette.CUT_STEPS,
            "proposed": palette.PROPOSED,
            "existing": palette.EXISTING,
            "outline": palette.OUTLINE,
            "keep_off": palette.KEEP_OFF,
            "walk": palette.WALK,
            "water": palette.WATER,
            "water_edge": palette.WATER_EDGE,
        },
    }


def base_of(levels: tuple[float, int], existing: Array) -> float:
    """Elevation in metres that the page counts from: a strong contour under all existing grade (metres) shown."""
    step = levels[0] * levels[1]
    return step * float(np.floor(existing.min() / step))


def wish_of(site: Site, corner: Spot) -> Plain:
    """The berm that is wished for, in metres from the page's corner."""
    berm, outline = site.berm, site.bed.outline
    rings = [outline.exterior, *outline.interiors]
    return {
        "outline": [[[x - corner[0], y - corner[1]] for x, y in ring.coords[:-1]] for ring in rings],
        "crest": [[point.x - corner[0], point.y - corner[1], point.height] for point in berm.crest],
        "max_slope": berm.max_slope,
        "toe": berm.toe,
        "gentle_side": berm.gentle_side,
        "soil": berm.soil,
        "streams": [[[x - corner[0], y - corner[1]] for x, y in stream.line] for stream in site.stream],
    }


def water_of(proposal: Proposal, corner: Spot) -> list[Plain]:
    """Of each stream its water and its banks as rings of places, metres from the page's corner."""
    return [{"wet": _ring(bed.wet, corner), "banks": _ring(bed.dig.rim, corner)} for bed in proposal.streams]


def _ring(area: Polygon, corner: Spot) -> list[list[float]]:
    return [[round(x - corner[0], PLACES), round(y - corner[1], PLACES)] for x, y in area.exterior.coords[:-1]]


def _trees(site: Site, frame: _Frame) -> list[Plain]:
    return [
        {
            "name": circles.tree.name,
            "at": frame.spot(*circles.tree.at),
            "trunk": circles.tree.trunk,
            "flare": circles.flare,
            "keep_off": circles.keep_off,
            "root_zone": circles.root_zone,
            "clear": tree_form(circles.tree).clear,
        }
        for circles in tree_circles(site)
    ]


def _clear(site: Site) -> list[tuple[str, Polygon, bool]]:
    """Ground that takes no fill, and walks: name, outline and whether it is paved."""
    walks = [(walk, LineString(walk.line).buffer(walk.width / 2.0, cap_style="flat")) for walk in site.walk]
    kept = [(clear.name, clear.outline, True) for clear in site.keep_clear]
    return [*kept, *((walk.name, outline, walk.paved) for walk, outline in walks)]


def _things(site: Site, frame: _Frame) -> list[Plain]:
    """What the mound must respect, as lines: a thing in one place, and one with corners, runs round and closes."""
    found: list[Plain] = []
    for thing in site.thing:
        shape = thing.shape.buffer(THING_WIDE) if thing.shape.geom_type == "Point" else thing.shape
        line = shape.boundary if shape.geom_type == "Polygon" else shape
        seen = overlap(line, frame.room)
        found += [
            {"name": thing.name, "line": frame.spots(np.asarray(part.coords)), "hidden": "line" in thing.kind}
            for part in shapely.get_parts(shapely.line_merge(seen) if seen.geom_type == "MultiLineString" else seen)
            if part.geom_type == "LineString"
        ]
    return found


def _areas(named: Sequence[tuple[str, Polygon, bool]], frame: _Frame) -> list[Plain]:
    return [
        {"name": name, "outline": frame.spots(np.asarray(part.exterior.coords)[:-1]), "paved": paved}
        for name, shape, paved in named
        for part in frame.parts(shape)
    ]


def _buildings(site: Site, frame: _Frame) -> list[Plain]:
    """Outlines with their roofs as triangles and the floor's height in the page."""
    found: list[Plain] = []
    for house in site.building:
        for part in frame.parts(house.outline):
            roof = shapely.get_parts(shapely.constrained_delaunay_triangles(part))
            corners = [np.asarray(triangle.exterior.coords)[:3] for triangle in roof]
            found.append(
                {
                    "name": house.name,
                    "outline": frame.spots(np.asarray(shapely.geometry.polygon.orient(part).exterior.coords)),
                    "triangles": frame.spots(np.concatenate(corners)),
                    "rise": HOUSE_HEIGHT,
                    "floor": None if house.floor is None else house.floor - frame.base,
                }
            )
    return found


def _staff(units: Units, at: list[float]) -> Plain:
    band, count = staff_size(units)
    return {"at": at, "band": band, "count": count, "radius": STAFF_RADIUS}


def _staff_place(subject: Subject, shown: Shown, toward: Array) -> Spot:
    """Where the staff stands: just outside the bed, at the viewer's right on the near side."""
    outline = subject.site.bed.outline
    middle = np.array(outline.centroid.coords[0])
    right = np.array([toward[1], -toward[0]])
    reach = long_axis(outline)[1]
    room = box(*(np.array([*shown.corner, *shown.corner]) + _reach(shown))).buffer(-0.2)
    taken = shapely.union_all([outline.buffer(0.35), *(area.outline for area in subject.site.keep_clear)])
    for across, ahead in itertools.product((0.22, 0.1, 0.34, -0.2), np.linspace(0.05, 0.9, 40)):
        path = LineString([middle, middle + across * reach * right - ahead * reach * toward])
        spot = shapely.Point(path.coords[1])
        if room.contains(spot) and not taken.contains(spot):
            return float(spot.x), float(spot.y)
    return float(middle[0]), float(middle[1])
