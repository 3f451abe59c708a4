"""What streams and their water must agree on with the yard and the basins."""

from __future__ import annotations

from difflib import get_close_matches
from itertools import pairwise

from shapely.geometry import LineString, Point, Polygon

from terrain.errors import InputError
from terrain.limits import DEEPEST_DIG, DROPS_APART, WIDEST_CHANNEL
from terrain.site.feature_checks import at_most, check_course, off_the_line
from terrain.site.features import Drop
from terrain.site.model import Site
from terrain.site.streams import Pool, Stream, StreamWater, pool_reaches
from terrain.units import Units, as_written, show_length, show_place

_HAIR = 1e-6  # metres: what rounding leaves of two places that are one


def check_streams(site: Site, yard: Polygon, label: str) -> None:
    """Refuse a stream that no water could run in, and water that contradicts itself.

    Parameters
    ----------
    site, yard, label
        As in `settled_features`.

    Raises
    ------
    InputError
        For a line that crosses itself, a figure out of sense, a drop or a pool off the line, pools that overlap or
        reach over an end or a drop, an unknown basin; and for water with two flows, or a pump's curve that rises.
    """
    for i, stream in enumerate(site.stream, start=1):
        key = f'{label} [[stream]] {i} "{stream.name}"'
        _check_bed(stream, site.units, yard, key)
        for number, drop in enumerate(stream.drops or (), start=1):
            off_the_line(stream.line, stream.width, (drop.x, drop.y), site.units, f"{key} drops {number}", "stream")
        _check_drops(stream, site.units, key)
        for number, pool in enumerate(stream.pools or (), start=1):
            _check_pool(stream, pool, site.units, f"{key} pools {number}")
        _check_reaches(stream, site.units, key)
        _check_basin(stream, [basin.name for basin in site.basin], key)
    _check_water(site.water, f"{label} [water]")


def _check_bed(stream: Stream, units: Units, yard: Polygon, key: str) -> None:
    check_course(stream, units, yard, key)
    if stream.edge >= stream.depth:
        raise InputError(
            f"{key} edge",
            f"banks of {show_length(stream.edge, units)} over the water leave none in a bed "
            f"{show_length(stream.depth, units)} deep.",
            "Accepted: less than the depth.",
        )


def _stations(stream: Stream, drops: tuple[Drop, ...]) -> list[float]:
    line = LineString(stream.line)
    return [float(line.project(Point(drop.x, drop.y))) for drop in drops]


def _check_drops(stream: Stream, units: Units, key: str) -> None:
    drops = stream.drops or ()
    stations = sorted(zip(_stations(stream, drops), range(1, len(drops) + 1), strict=True))
    length = LineString(stream.line).length
    for (upper, _), (lower, number) in pairwise(stations):
        if lower - upper < DROPS_APART.value:
            raise InputError(
                f"{key} drops {number}",
                f"it lies {show_length(lower - upper, units, 'distance')} below another one.",
                f"Accepted: {show_length(DROPS_APART.value, units)} or more along the line; make one of the two.",
            )
    for station, number in stations:
        if not _HAIR < station < length - _HAIR:
            raise InputError(
                f"{key} drops {number}",
                "it lies at the end of the line, where no bed is on one side of it.",
                "Accepted: a place between the two ends.",
            )


def _check_pool(stream: Stream, pool: Pool, units: Units, key: str) -> None:
    off_the_line(stream.line, stream.width, pool.at, units, f"{key} at", "stream")
    at_most(pool.depth, DEEPEST_DIG.value, units, f"{key} depth", "a depth")
    at_most(max(pool.size), WIDEST_CHANNEL.value, units, f"{key} size", "a pool")
    least = 2.0 * pool.depth / stream.side_slope
    if min(pool.length, pool.width) <= least + _HAIR:
        raise InputError(
            f"{key} size",
            f"its sides meet before they are {show_length(pool.depth, units)} deep.",
            f"Accepted: more than {show_length(least, units)} across, or a smaller depth.",
        )


def _number(stream: Stream, pool: Pool) -> int:
    """Which of a stream's pools it is, as the site file counts them."""
    return 1 + (stream.pools or ()).index(pool)


def _check_reaches(stream: Stream, units: Units, key: str) -> None:
    stations = sorted(_stations(stream, stream.drops or ()))
    length = LineString(stream.line).length
    before = 0.0
    for reach in pool_reaches(stream, tuple(stations)):
        number = _number(stream, reach.pool)
        over = next((at for at in stations if reach.start + _HAIR < at < reach.end - _HAIR), None)
        if over is not None or reach.start < before - _HAIR or reach.end > length + _HAIR:
            room = (length if over is None else over) - max(before, 0.0)
            raise InputError(
                f"{key} pools {number}",
                f"the pool at {show_place(*reach.pool.at, units)} reaches over "
                f"{'a drop' if over is not None else 'the next pool or an end of the line'}, and water stands level.",
                f"Accepted: a pool within {show_length(max(room, 0.0), units, 'distance')} along the line there.",
            )
        before = reach.end


def _check_basin(stream: Stream, names: list[str], key: str) -> None:
    if stream.basin and stream.basin not in names:
        near = get_close_matches(stream.basin, names, n=1)
        hint = f' Did you mean "{near[0]}"?' if near else ""
        known = f"Accepted: {', '.join(map(as_written, names))}." if names else "Add a [[basin]] of that name."
        raise InputError(f"{key} basin", f"{as_written(stream.basin)} is no [[basin]] of this site.{hint}", known)


def _check_water(water: StreamWater, key: str) -> None:
    if water.flow is not None and water.look is not None:
        raise InputError(f"{key} look", "a flow is stated as well.", "Keep one of the two: flow or look.")
    if len(water.pump) == 1:
        raise InputError(f"{key} pump", "the curve has one point.", "Accepted: two points or more.")
    for number, (one, other) in enumerate(pairwise(water.pump), start=2):
        if other.flow <= one.flow or other.head >= one.head:
            raise InputError(
                f"{key} pump {number}",
                "a pump that gives more lifts less high.",
                "Accepted: points from no flow up, each with more flow and less head than the one before.",
            )
