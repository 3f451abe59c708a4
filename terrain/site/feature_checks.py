"""What basins, channels, terraces and retained edges must agree on with the yard and the bed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from shapely import Geometry
from shapely.geometry import LineString, Point, Polygon

from terrain.errors import InputError
from terrain.limits import DEEPEST_DIG, HIGHEST_CREST, HIGHEST_STONES, TERRACE_OFF, WIDEST_CHANNEL
from terrain.site.features import Basin, Channel, RetainedEdge, Terrace, basin_outline
from terrain.site.model import Site
from terrain.site.streams import Stream
from terrain.units import Units, show_length, show_place

_HAIR = 1e-6  # metres: an outline drawn along the bed's edge may pass it by rounding


def settled_features(site: Site, yard: Polygon, label: str) -> Site:
    """The site with every basin's outline worked out, its features checked.

    Parameters
    ----------
    site
        The site, its survey settled.
    yard
        The rectangle around shots and bed, metres.
    label
        Opens every message: the path of the site file.

    Raises
    ------
    InputError
        For a name used twice, a basin without one outline, a terrace without one level, a figure out of sense, and a
        feature off the yard or the bed; the message names the key.
    """
    for table, entries in (
        ("basin", site.basin),
        ("channel", site.channel),
        ("terrace", site.terrace),
        ("retained_edge", site.retained_edge),
        ("stream", site.stream),
        ("view_from", site.view_from),
    ):
        _refuse_same_names(table, [entry.name for entry in entries], label)
    basins = tuple(
        _basin(basin, site.units, yard, _key(label, "basin", i, basin)) for i, basin in enumerate(site.basin, start=1)
    )
    for i, channel in enumerate(site.channel, start=1):
        _check_channel(channel, site.units, yard, _key(label, "channel", i, channel))
    for i, terrace in enumerate(site.terrace, start=1):
        _check_terrace(terrace, site, _key(label, "terrace", i, terrace))
    for i, edge in enumerate(site.retained_edge, start=1):
        _check_edge(edge, site, _key(label, "retained_edge", i, edge))
    return replace(site, basin=basins)


def _key(label: str, table: str, i: int, entry: Basin | Channel | Terrace | RetainedEdge) -> str:
    return f'{label} [[{table}]] {i} "{entry.name}"'


def _refuse_same_names(table: str, names: Sequence[str], label: str) -> None:
    first: dict[str, int] = {}
    for i, name in enumerate(names, start=1):
        if name in first:
            raise InputError(
                f'{label} [[{table}]] {i} "{name}" name',
                f"[[{table}]] {first[name]} has the same name.",
                "Give each its own name.",
            )
        first[name] = i


def at_most(metres: float, most: float, units: Units, where: str, noun: str) -> None:
    """Refuse a length in metres over `most`; `noun` opens the message."""
    if metres > most:
        raise InputError(
            where,
            f"{noun} of {show_length(metres, units, 'distance')} is more than {show_length(most, units, 'distance')}.",
            f"A bare number is in {units}; a text may name its unit.",
        )


def touches(thing: Geometry, ground: Polygon, units: Units, where: str, noun: str) -> None:
    """Refuse what lies wholly off a ground, which `noun` names."""
    if not thing.intersects(ground):
        away = show_length(thing.distance(ground), units, "distance")
        raise InputError(where, f"it lies outside {noun}, {away} from it.", "Give it in the survey's coordinates.")


def _basin(basin: Basin, units: Units, yard: Polygon, key: str) -> Basin:
    """The basin with its outline in place of its centre and size."""
    if basin.outline is not None and (basin.center is not None or basin.size is not None):
        raise InputError(
            f"{key} outline", "an outline is given, and a center or size too.", "Keep one of the two ways."
        )
    outline = basin_outline(basin)
    if outline is None:
        lacks = [name for name in ("center", "size") if getattr(basin, name) is None]
        raise InputError(
            f"{key} {lacks[0] if len(lacks) == 1 else 'outline'}",
            "this is missing.",
            "Give the outline, or center and size.",
        )
    at_most(basin.depth, DEEPEST_DIG.value, units, f"{key} depth", "a depth")
    at_most(basin.clearance, DEEPEST_DIG.value, units, f"{key} clearance", "a clearance")
    if basin.gravel >= basin.depth:
        raise InputError(
            f"{key} gravel",
            f"{show_length(basin.gravel, units)} of gravel fill the dig, "
            f"which is {show_length(basin.depth, units)} deep.",
            "Accepted: less than the depth.",
        )
    touches(outline, yard, units, f"{key} {'outline' if basin.outline is not None else 'center'}", "the yard")
    return replace(basin, outline=outline, center=None, size=None)


def check_course(course: Channel | Stream, units: Units, yard: Polygon, key: str) -> None:
    """Refuse a course that no water could run in: one that crosses itself, is too deep or too wide, or off the yard."""
    line = line_of(course.line, f"{key} line")
    if not line.is_simple:
        raise InputError(f"{key} line", "the line crosses itself, and no water runs so.", "List its points in order.")
    at_most(course.depth, DEEPEST_DIG.value, units, f"{key} depth", "a depth")
    at_most(course.width, WIDEST_CHANNEL.value, units, f"{key} width", "a width")
    touches(line, yard, units, f"{key} line", "the yard")


def _check_channel(channel: Channel, units: Units, yard: Polygon, key: str) -> None:
    check_course(channel, units, yard, key)
    for number, drop in enumerate(channel.drops, start=1):
        off_the_line(channel.line, channel.width, (drop.x, drop.y), units, f"{key} drops {number}", "channel")


def off_the_line(
    line: Sequence[tuple[float, float]],
    width: float,
    place: tuple[float, float],
    units: Units,
    where: str,
    noun: str,
) -> None:
    """Refuse a place outside the bed of the given width along a line; lengths in metres, `noun` as it is called."""
    away = LineString(line).distance(Point(place))
    if away > width / 2.0 + _HAIR:
        raise InputError(
            where,
            f"{show_place(*place, units)} lies {show_length(away, units, 'distance')} off the line.",
            f"Accepted: a place on the {noun}'s line.",
        )


def line_of(places: Sequence[tuple[float, float]], where: str) -> LineString:
    """The line through (x, y) places in metres; refused where there are fewer than two."""
    if len(places) < 2:
        raise InputError(where, f"the line has {len(places)} points.", "Accepted: two points or more.")
    return LineString(places)


def _check_terrace(terrace: Terrace, site: Site, key: str) -> None:
    """One level, and ground inside the bed."""
    if (terrace.height is None) == (terrace.elevation is None):
        problem = (
            "neither height nor elevation is given." if terrace.height is None else "both height and elevation are."
        )
        raise InputError(f"{key} height", problem, 'Accepted: one of them, such as height = "18 in".')
    if not site.bed.outline.buffer(_HAIR).covers(terrace.outline):
        share = 1.0 - terrace.outline.intersection(site.bed.outline).area / terrace.outline.area
        raise InputError(
            f"{key} outline",
            f"{f'{share:.0%} of' if share < 1.0 else 'all of'} the terrace lies outside the bed.",
            "Accepted: an outline inside the bed outline.",
        )
    if terrace.height is not None:
        at_most(terrace.height, HIGHEST_CREST.value, site.units, f"{key} height", "a height")
        return
    low, high = float(site.survey.shots[:, 2].min()), float(site.survey.shots[:, 2].max())
    if terrace.elevation is not None and not low - TERRACE_OFF.value <= terrace.elevation <= high + TERRACE_OFF.value:
        shown = [show_length(level, site.units, "elevation") for level in (terrace.elevation, low, high)]
        raise InputError(
            f"{key} elevation",
            f"{shown[0]} is far from the elevations of the shots, {shown[1]} to {shown[2]}.",
            "Accepted: an elevation in the datum and units of the shots; a height over existing grade is height.",
        )


def _check_edge(edge: RetainedEdge, site: Site, key: str) -> None:
    at_most(edge.height, HIGHEST_STONES.value, site.units, f"{key} height", "a height")
    touches(line_of(edge.line, f"{key} line"), site.bed.outline, site.units, f"{key} line", "the bed")
