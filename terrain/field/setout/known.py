"""Points that a crew can find again: those it measured from, corners of houses, walks and the lot, shots by names."""

from __future__ import annotations

import math
from collections.abc import Iterator

import shapely
from shapely.geometry import Polygon

from terrain.field.setout.model import Known
from terrain.site import Site
from terrain.survey import Place, point_key

# How readily a point is found: a built corner, a laid edge or lot pin, a shot's mark, a stake.
HOUSE, LAID, SHOT, STAKE = range(4)
_SAME = 0.05  # metres: nearer than this, two known points are one
_MOST_SHOTS = 60
_WINDS = ("E", "NE", "N", "NW", "W", "SW", "S", "SE")


def known_points(site: Site) -> tuple[Known, ...]:
    """Every point that tapes may start from, the readiest first; no two at one place or under one name."""
    found: list[Known] = []
    for point in (*_measured_from(site), *_corners(site), *_shots(site)):
        apart = all(math.dist(point.at, other.at) > _SAME for other in found)
        if apart and all(point_key(point.name) != point_key(other.name) for other in found):
            found.append(point)
    return tuple(found)


def _measured_from(site: Site) -> Iterator[Known]:
    """The points that the survey itself was taped from."""
    for name, at in site.survey.known:
        yield Known(name, at, LAID)


def _corners(site: Site) -> Iterator[Known]:
    for house in site.building:
        yield from _named(house.name, house.outline, HOUSE)
    for clear in site.keep_clear:
        yield from _named(clear.name, clear.outline, LAID)
    if site.boundary is not None:
        yield from _named("lot", site.boundary, LAID)


def _named(name: str, outline: Polygon, rank: int) -> Iterator[Known]:
    """The outward corners of an outline, by the wind they point to, or by number where two share one."""
    hull = shapely.convex_hull(outline).simplify(_SAME)
    if not isinstance(hull, Polygon):
        return
    middle, ring = hull.centroid, list(hull.exterior.coords)[:-1]
    winds = [_wind((middle.x, middle.y), (east, north)) for east, north in ring]
    for number, (at, wind) in enumerate(zip(ring, winds, strict=True), start=1):
        yield Known(f"{name} {wind if winds.count(wind) == 1 else number}", (float(at[0]), float(at[1])), rank)


def _wind(middle: Place, at: Place) -> str:
    turn = math.degrees(math.atan2(at[1] - middle[1], at[0] - middle[0]))
    # A corner is named by its diagonal unless it points nearly square to a wind.
    square = min(abs(turn - straight) for straight in (-180.0, -90.0, 0.0, 90.0, 180.0))
    if square < 5.0:
        return _WINDS[round(turn / 45.0) % 8]
    return _WINDS[(2 * math.floor(turn / 90.0) + 1) % 8]


def _shots(site: Site) -> Iterator[Known]:
    """The shots nearest to the bed, by their names."""
    places = shapely.points(site.survey.shots[:, :2])
    order = shapely.distance(places, site.bed.outline).argsort(kind="stable")[:_MOST_SHOTS]
    for i in order:
        east, north = site.survey.shots[i, :2]
        yield Known(f"shot {site.survey.names[i]}", (float(east), float(north)), SHOT)
