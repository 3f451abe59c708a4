"""Two sections through the mound at true scale, and one of them with larger heights, which says so."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import product
from pathlib import Path

import numpy as np
import shapely
from shapely.geometry import LineString, Polygon, box
from shapely.geometry.base import BaseGeometry

from terrain.grid import Array, Mask
from terrain.numerics import merged
from terrain.units import Units, show_length, unit_length
from viewer.page import (
    CUT_STEPS,
    FAINT,
    INK,
    KEEP_OFF,
    LEAST_FILL,
    MARGIN,
    PAPER,
    PROPOSED,
    SOFT_INK,
    SOIL,
    TREE,
    WALK,
    WATER,
    WATER_EDGE,
    Label,
    Page,
    Pen,
    PlacedLabel,
    Seat,
    Stamp,
    Subject,
    Type,
    cut_gaps,
    hatch,
    new_page,
    numbered,
    pens,
    place,
    section_lines,
    stamp,
    text_size,
    turned,
)
from viewer.sheets import layers
from viewer.sheets.profile import Profile, profile_of, steepest_places
from viewer.sheets.section_axis import Axis
from viewer.sheets.section_band import (
    EXISTING_PEN,
    FILL_TINT,
    NUMBER,
    PROPOSED_PEN,
    STONE_PEN,
    TITLE,
    draw_band,
    scales_said,
)
from viewer.sheets.section_cover import Standing, draw_cover, draw_standing, runs, standing_shape
from viewer.sheets.section_shelves import (
    BELOW,
    BESIDE,
    CAP,
    FOOTROOM,
    GUTTER,
    HEADROOM,
    LETTERS,
    Drawn,
    needed_height,
    section_paper,
    shelves,
    tallest,
)
from viewer.sheets.section_stones import StonesCut

TRIANGLE = 40.0  # points of run of a slope triangle
HIGHEST = 60.0  # points that it rises at most, where heights are drawn larger
KEEP_OFF_RISE = 26.0  # points that the keep-off marks stand over the ground


def draw_sections(subject: Subject, folder: Path) -> list[Path]:
    """Write sections.png (200 dots per inch) into `folder`."""
    (page,) = numbered([sections_page(subject)])
    return [page.save(folder / "sections.png")]


def sections_page(subject: Subject, whole: bool = False) -> Page:
    """Both sections at true scale and the long one with its heights drawn larger, beside or under each other.

    As wide as the paper, as large as round scales allow; `whole`: as high as the paper too.
    """
    profiles = [profile_of(subject, section) for section in section_lines(subject.site, subject.proposal)]
    name, each = section_paper(profiles, subject.site.units, subject.asked.paper)
    wide, high = turned(name)
    rows = shelves(profiles, each, wide)
    needed = needed_height(rows)
    page = new_page(wide, max(needed, high) if whole else needed)
    spare = (page.height - needed) / (len(rows) + 1)
    top = page.height - CAP - spare
    for shelf in rows:
        left = MARGIN
        for one in shelf:
            across, tall = one.size
            axis = Axis(left + GUTTER, top - tall + FOOTROOM, one.profile.low - BELOW, one.scale.points, one.times)
            right = page.width - MARGIN if one is shelf[-1] else left + across - 0.5 * BESIDE
            _draw_profile(page, one, axis, subject.site.units, right)
            left += across
        top -= tallest(shelf) + spare
    draw_band(page, subject, name, each, rows[-1][-1].times, profiles)
    stamp(page, Stamp(subject.site, TITLE, scales_said(profiles, each), name))
    return page


def _draw_profile(page: Page, drawn: Drawn, axis: Axis, units: Units, right: float) -> None:
    """One section: ground, fill, lines, scales at its edges, callouts; words reach to `right` at most."""
    profile = drawn.profile
    page.begin(drawn.name)
    existing = axis.points(profile.stations, profile.existing)
    proposed = axis.points(profile.stations, profile.proposed)
    base = np.array([[existing[-1, 0], axis.foot], [existing[0, 0], axis.foot]])
    page.area(Polygon(np.vstack([existing, base])), SOIL)
    triangles, placed, calls = words(drawn, axis, units, right)
    gaps = [item.box for item in placed] + [triangle for triangle, _, _ in triangles]
    _draw_scales(page, drawn, axis, units, gaps)
    if profile.cover is not None:
        draw_standing(page, axis, (profile.stations, profile.existing), profile.cover, gaps)
    fill = area_where(profile.fill > LEAST_FILL, existing, proposed)
    page.area(fill, FILL_TINT)
    page.lines(cut_gaps([hatch(fill, 4.5, 60.0)], gaps), Pen(PROPOSED, 0.45))
    cut = area_where(profile.fill < -LEAST_FILL, existing, proposed)
    page.area(cut, CUT_STEPS[0])
    page.lines(cut_gaps([hatch(cut, 3.0, 0.0)], gaps), Pen(CUT_STEPS[3], 0.45))
    for crossing in profile.crossings:
        edges, _ = _keep_off_marks(profile, axis, crossing)
        page.lines(edges, pens.KEEP_OFF_PEN)
    page.lines(LineString(existing), EXISTING_PEN)
    covered = np.abs(profile.fill) > LEAST_FILL
    page.lines([LineString(proposed[a:b]) for a, b in runs(covered)], PROPOSED_PEN)
    if profile.cover is not None:
        draw_cover(page, axis, profile.stations, (profile.existing, profile.proposed), profile.cover)
    for water in profile.water:
        page.area(axis.shape(water.area), WATER)
        page.lines(axis.shape(water.surface), Pen(WATER_EDGE, 1.0))
    _draw_stones(page, axis, profile.stones, gaps)
    page.lines([triangle for triangle, _, _ in triangles], Pen(INK, 0.9))
    _draw_leaders(page, placed, calls)
    layers.write_labels(page, placed)


def _draw_stones(page: Page, axis: Axis, walls: Sequence[StonesCut], gaps: Sequence[BaseGeometry]) -> None:
    """The courses of every wall that the section crosses, with the crushed stone under and behind them."""
    for wall in walls:
        bedding, drain, *stones = (axis.shape(shape) for shape in (wall.bedding, wall.drain, *wall.stones))
        for crushed in (bedding, drain):
            page.area(crushed, PAPER)
            page.lines(cut_gaps([hatch(crushed, 2.2, 45.0)], gaps), Pen(SOFT_INK, 0.35))
        for stone in stones:
            page.area(stone, WALK)
            page.lines(stone.exterior, STONE_PEN)


def area_where(mask: Mask, existing: Array, proposed: Array) -> BaseGeometry:
    """The ground between existing and proposed grade on the paper, where the mask holds."""
    parts = [Polygon(np.vstack([existing[a:b], proposed[a:b][::-1]])) for a, b in runs(mask)]
    return merged(parts)


def _draw_scales(page: Page, drawn: Drawn, axis: Axis, units: Units, gaps: Sequence[BaseGeometry]) -> None:
    """Elevations at the left, distances along the foot, both in the site's units; lines leave gaps for words."""
    profile = drawn.profile
    unit = unit_length(units)
    step = _tick(axis.rise * unit, 20.0)
    right = axis.left + axis.size * profile.section.length
    first = int(np.ceil(axis.datum / unit / step))
    for k in range(first, int(np.floor((profile.high + 0.1) / unit / step)) + 1):
        up = float(axis.points(np.zeros(1), np.array([k * step * unit]))[0, 1])
        page.lines(cut_gaps([LineString([(axis.left - 4.0, up), (right, up)])], gaps), Pen(FAINT, 0.45))
        page.text(axis.left - 7.0, up - 3.6, f"{k * step:g}", Type(NUMBER, SOFT_INK), "right")
    step = _tick(axis.size * unit, 42.0)
    page.lines(LineString([(axis.left, axis.foot), (right, axis.foot)]), Pen(SOFT_INK, 0.7))
    for k in range(int(profile.section.length / unit / step) + 1):
        across = axis.left + axis.size * k * step * unit
        page.lines(LineString([(across, axis.foot), (across, axis.foot - 3.5)]), Pen(SOFT_INK, 0.7))
        text = f"{k * step:g}" if k else f"0 {units}"
        page.text(across, axis.foot - 14.0, text, Type(NUMBER, SOFT_INK), "middle")
    up = axis.foot + axis.rise * (profile.high - axis.datum) + HEADROOM - 26.0
    page.text(axis.left - GUTTER, up, drawn.name, LETTERS)


def _tick(unit_points: float, least: float) -> float:
    """Round step in the site's units that stands at least `least` points apart."""
    steps = [base * 10.0**power for power in range(-1, 4) for base in (1.0, 2.0, 5.0)]
    return next((step for step in steps if step * unit_points >= least), steps[-1])


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


def _keep_off_marks(
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
    labels = [_called(call, str(number)) for number, call in enumerate(calls)]
    for _, text, at in triangles:
        seats = _seats_about(at, (7.5, 14.0, 20.0, 28.0), (0.0, -16.0, 16.0, -30.0, 30.0))
        labels.append(Label(text, seats, Type(NUMBER, INK, bold=True), 0))
    marked = [_keep_off_marks(profile, axis, crossing) for crossing in profile.crossings]
    for (_, at), (_, _, name) in zip(marked, profile.crossings, strict=True):
        seats = _seats_about(at, (9.0, 18.0, -9.0), (0.0, 30.0, -30.0, 50.0, -50.0))
        labels.append(Label(f"keep-off, {name}", seats, Type(NUMBER, KEEP_OFF), 3))
    labels += _standing_labels(profile, axis)
    blocked: list[BaseGeometry] = [surface.buffer(1.5), *(line.buffer(1.0) for lines, _ in marked for line in lines)]
    blocked += [triangle.buffer(1.0) for triangle, _, _ in triangles]
    wide = text_size(drawn.name, LETTERS)[0]
    named = axis.left - GUTTER
    blocked.append(box(named, axis.foot, axis.left - 4.0, top - HEADROOM + 6.0))  # the elevations of the scale
    blocked.append(box(named, top - 30.0, named + wide + 6.0, top - 10.0))
    return triangles, place(labels, room, blocked, _soft(profile, axis)), calls


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


def _draw_leaders(page: Page, placed: Sequence[PlacedLabel], calls: Sequence[Callout]) -> None:
    """A thin line from each callout down to its place, with a dot."""
    for item in placed:
        if not item.label.tag:
            continue
        at = calls[int(item.label.tag)].at
        foot = item.seat.up - text_size(item.label.text, item.label.kind)[1] / 2 - 2.5
        page.lines(LineString([(at[0], foot), at]), Pen(SOFT_INK, 0.5))
        page.area(shapely.Point(at).buffer(1.7), INK)
