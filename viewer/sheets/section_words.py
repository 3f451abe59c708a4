"""The words of a section: top and toes on leaders, slopes at their triangles, the names of what stands there."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import compress, permutations, product

import numpy as np
import shapely
from shapely.geometry import LineString, Polygon, box
from shapely.geometry.base import BaseGeometry

from terrain.grid import Array
from terrain.units import Units, show_length
from viewer.page import (
    INK,
    KEEP_OFF,
    LEAST_FILL,
    SOFT_INK,
    TREE,
    Label,
    Page,
    Pen,
    PlacedLabel,
    Seat,
    Type,
    place,
    seats_led,
    text_size,
)
from viewer.sheets.profile import Profile, steepest_places
from viewer.sheets.section_axis import Axis
from viewer.sheets.section_band import NUMBER
from viewer.sheets.section_cover import Standing, standing_shape
from viewer.sheets.section_shelves import GUTTER, HEADROOM, LETTERS, Drawn

TRIANGLE = 40.0  # points of run of a slope triangle
HIGHEST = 60.0  # points that it rises at most, where heights are drawn larger
SPOT = 3.0  # points round a place that slanted leaders leave free
KEEP_OFF_RISE = 26.0  # points that the keep-off marks stand over the ground


@dataclass(frozen=True)
class Callout:
    """Words that point at a place of the section."""

    text: str
    at: tuple[float, float]
    kind: Type
    rank: int


def _callouts(profile: Profile, axis: Axis, units: Units) -> list[Callout]:
    """Crest, toes, and the steepest place of each side."""
    covered = np.flatnonzero(profile.fill > LEAST_FILL)
    if not covered.size:
        return []
    spots = axis.points(profile.stations, profile.proposed)
    station, elevation = profile.top
    peak = axis.points(np.array([station]), np.array([elevation]))[0]
    words = f"top {show_length(elevation, units, 'elevation')}, {show_length(profile.height, units)} over existing"
    calls = [Callout(words, (peak[0], peak[1]), Type(NUMBER + 1.0, INK, bold=True), 2)]
    for k in (int(covered[0]), int(covered[-1])):
        toe = f"toe {show_length(float(profile.proposed[k]), units, 'elevation')}"
        calls.append(Callout(toe, (spots[k, 0], spots[k, 1]), Type(NUMBER, INK), 1))
    return calls


def keep_off_marks(
    profile: Profile, axis: Axis, crossing: tuple[float, float, str]
) -> tuple[list[LineString], tuple[float, float]]:
    """Upright lines at the edges of a keep-off with a line that joins them, and the middle of that line.

    An end of the section inside the keep-off is no edge and gets no upright.
    """
    start, end, _ = crossing
    inside = (profile.stations >= start) & (profile.stations <= end)
    ground = float(profile.existing[inside].max()) if inside.any() else profile.high
    up = axis.foot + axis.rise * (ground - axis.datum) + KEEP_OFF_RISE
    left, right = axis.left + axis.size * start, axis.left + axis.size * end
    lines = [LineString([(left, up), (right, up)])]
    beyond = 0.02
    if start > beyond:
        lines.append(LineString([(left, axis.foot), (left, up)]))
    if end < profile.section.length - beyond:
        lines.append(LineString([(right, axis.foot), (right, up)]))
    return lines, ((left + right) / 2, up)


def _triangle(profile: Profile, axis: Axis, place_at: int, slope: float, pointed: Sequence[float]) -> Triangle:
    """A run:rise triangle that stands on the slope, its words, and the middle of its run side.

    It goes off along the slope, or is smaller, where it would stand over a place (points across) that words point at.
    """
    side = 1.0 if slope > 0 else -1.0
    whole = max(min(TRIANGLE, HIGHEST / (abs(slope) * axis.times)), 0.4 * TRIANGLE)
    spots = axis.points(profile.stations, profile.proposed)
    ways = [(share * whole, off) for share in (1.0, 0.5) for off in (0.0, 6.0, -6.0, 12.0, -12.0, 18.0, -18.0)]
    tried = [(run, _nearest(spots, spots[place_at, 0] + off)) for run, off in ways]
    clear = (
        (run, k)
        for run, k in tried
        if profile.fill[k] > LEAST_FILL and all(abs(at - spots[k, 0]) > run / 2 + 3.0 for at in pointed)
    )
    run, k = next(clear, (whole, place_at))
    rise = run * abs(slope) * axis.times
    low = spots[k] + np.array([-side * run / 2, -rise / 2 + 5.0])
    corner = low + np.array([0.0, rise])
    far = corner + np.array([side * run, 0.0])
    return Polygon([low, corner, far]), f"{1 / abs(slope):.1f}:1", (float(corner[0] + side * run / 2), float(corner[1]))


def _nearest(spots: Array, across: float) -> int:
    return int(np.argmin(np.abs(spots[:, 0] - across)))


Triangle = tuple[Polygon, str, tuple[float, float]]


def _seats_about(at: tuple[float, float], lifts: Iterable[float], shifts: Iterable[float]) -> tuple[Seat, ...]:
    """Seats at so many points above and beside a place on the paper, in the order in which they are tried."""
    return tuple(Seat(at[0] + shift, at[1] + lift) for lift, shift in product(lifts, shifts))


def _triangles(profile: Profile, axis: Axis, pointed: Sequence[float]) -> list[Triangle]:
    """The triangles of both sides; of one alone where the mound is too narrow on the paper for two."""
    found: list[Triangle] = []
    for k, slope in steepest_places(profile, (0.5 * TRIANGLE + 8.0) / axis.size):
        one = _triangle(profile, axis, k, slope, pointed)
        if not any(one[0].buffer(2.0).intersects(other) for other, _, _ in found):
            found.append(one)
    return found


def words(
    drawn: Drawn, axis: Axis, units: Units, right: float
) -> tuple[list[Triangle], list[PlacedLabel], list[Callout]]:
    """The slope triangles, every word above the ground in its place, and what the words point at."""
    profile = drawn.profile
    top = axis.foot + axis.rise * (profile.high - axis.datum) + HEADROOM
    room = box(axis.left - GUTTER, axis.foot, right, top)
    surface = LineString(axis.points(profile.stations, np.maximum(profile.existing, profile.proposed)))
    calls = _callouts(profile, axis, units)
    triangles = _triangles(profile, axis, [call.at[0] for call in calls])
    slopes, names = [], _standing_labels(profile, axis)
    for _, text, at in triangles:
        seats = _seats_about(at, (7.5, 14.0, 20.0, 28.0), (0.0, -16.0, 16.0, -30.0, 30.0))
        slopes.append(Label(text, seats, Type(NUMBER, INK, bold=True), 0))
    marked = [keep_off_marks(profile, axis, crossing) for crossing in profile.crossings]
    for (_, at), (_, _, name) in zip(marked, profile.crossings, strict=True):
        seats = _seats_about(at, (9.0, 18.0, -9.0), (0.0, 30.0, -30.0, 50.0, -50.0))
        names.append(Label(f"keep-off, {name}", seats, Type(NUMBER, KEEP_OFF), 3))
    blocked: list[BaseGeometry] = [surface.buffer(1.5), *(line.buffer(1.0) for lines, _ in marked for line in lines)]
    blocked += [triangle.buffer(1.0) for triangle, _, _ in triangles]
    wide = text_size(drawn.name, LETTERS)[0]
    named = axis.left - GUTTER
    blocked.append(box(named, axis.foot, axis.left - 4.0, top - HEADROOM + 6.0))  # the elevations of the scale
    blocked.append(box(named, top - 30.0, named + wide + 6.0, top - 10.0))
    placed = _placed(calls, slopes, names, room, blocked, _soft(profile, axis))
    # A triangle that nothing says the slope of is left out.
    said = [any(item.label is label for item in placed) for label in slopes]
    return list(compress(triangles, said)), placed, calls


def _placed(
    calls: Sequence[Callout],
    slopes: Sequence[Label],
    names: Sequence[Label],
    room: Polygon,
    blocked: Sequence[BaseGeometry],
    soft: Sequence[BaseGeometry],
) -> list[PlacedLabel]:
    """Every word in its place; where callouts or slopes find none so, the callouts choose first, in every order."""

    def told(placed: Sequence[PlacedLabel]) -> tuple[int, int]:
        """How many callouts stand, and how many of the slopes with them."""
        called = sum(bool(item.label.tag) for item in placed)
        return called, called + sum(any(item.label is one for one in slopes) for item in placed)

    named = [_called(call, str(number)) for number, call in enumerate(calls)]
    led = [_led(label, call) for label, call in zip(named, calls, strict=True)]
    best = place([*named, *slopes, *names], room, blocked, soft)
    for order in permutations(range(len(calls))):
        if told(best)[1] == len(calls) + len(slopes):
            break
        first = [replace(led[k], rank=rank - len(calls)) for rank, k in enumerate(order)]
        best = max(best, place([*first, *slopes, *names], room, blocked, soft), key=told)
    return best


def unnamed(placed: Sequence[PlacedLabel], calls: Sequence[Callout], axis: Axis, units: Units) -> str:
    """What found no place over the ground, each with its distance along the section; "" where all did."""
    named = {int(item.label.tag) for item in placed if item.label.tag}
    left = [call for number, call in enumerate(calls) if number not in named]
    stations = [show_length((call.at[0] - axis.left) / axis.size, units, "distance") for call in left]
    return "; ".join(f"{call.text} at {station}" for call, station in zip(left, stations, strict=True))


def _led(label: Label, call: Callout) -> Label:
    """A callout that stands farther off and on slanted leaders too."""
    brief = None if label.instead is None else _led(label.instead, call)
    slanted = seats_led(*call.at, label.text, call.kind, SPOT)
    return replace(label, seats=(*label.seats, *slanted), instead=brief)


def _soft(profile: Profile, axis: Axis) -> list[BaseGeometry]:
    """What words would rather not cover: what stands on the ground, and the stones of walls."""
    laid = [shape for wall in profile.stones for shape in (wall.bedding, wall.drain, *wall.stones)]
    return [*(shape for _, shape in _standing_on(profile, axis)), *map(axis.shape, laid)]


def _standing_labels(profile: Profile, axis: Axis) -> list[Label]:
    """The names of buildings and trunks, over each."""
    labels = []
    for one, shape in _standing_on(profile, axis):
        left, _, right, top = shape.bounds
        text = f"trunk of {one.name}, behind" if one.tree and one.behind > 0.0 else one.name
        seats = _seats_about(((left + right) / 2, top), (8.0, 17.0, 26.0), (0.0, 30.0, -30.0, 60.0, -60.0))
        labels.append(Label(text, seats, Type(NUMBER, TREE if one.tree else INK), 2))
    return labels


def _standing_on(profile: Profile, axis: Axis) -> list[tuple[Standing, Polygon]]:
    """Buildings and trunks of a section with their shapes on the paper."""
    standing = profile.cover.standing if profile.cover is not None else ()
    return [(one, standing_shape(axis, profile.stations, profile.existing, one)) for one in standing]


def _called(call: Callout, number: str) -> Label:
    """The words of a callout; those before the comma alone where all find no room."""
    short = replace(call, text=call.text.split(",")[0])
    brief = Label(short.text, _seats_above(short), call.kind, call.rank, number)
    return Label(call.text, _seats_above(call), call.kind, call.rank, number, instead=brief)


def _seats_above(call: Callout) -> tuple[Seat, ...]:
    """Seats over a place, near first, then higher and to the sides, each with its leader; at last close beside it."""
    wide, high = text_size(call.text, call.kind)
    across, up = call.at
    seats = []
    for lift in (20.0, 34.0, 48.0, 62.0, 14.0, 27.0, 41.0, 55.0):
        for shift in (0.0, -0.2, 0.2, -0.4, 0.4, -0.48, 0.48):
            leader = box(across - 0.8, up + 3.0, across + 0.8, up + lift - high / 2)
            seats.append(Seat(across + shift * wide, up + lift, also=leader))
    return (*seats, *_seats_about(call.at, (high, high + 5.0), (-0.5 * wide - 5.0, 0.5 * wide + 5.0)))


def draw_leaders(page: Page, placed: Sequence[PlacedLabel], calls: Sequence[Callout]) -> None:
    """A thin line from each callout down to its place, with a dot."""
    for item in placed:
        if not item.label.tag:
            continue
        at = calls[int(item.label.tag)].at
        foot = at[0], item.seat.up - text_size(item.label.text, item.label.kind)[1] / 2 - 2.5
        if isinstance(item.seat.also, LineString):
            foot = item.seat.also.coords[-1]
        page.lines(LineString([foot, at]), Pen(SOFT_INK, 0.5))
        page.area(shapely.Point(at).buffer(1.7), INK)
