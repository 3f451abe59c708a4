"""Basins, channels, terraces and retained edges on a map: their marks, words and legend entries."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from shapely.geometry import LineString, Point, Polygon
from shapely.geometry.base import BaseGeometry

from terrain.shape import Proposal
from terrain.site import Channel, Site, basin_outline
from terrain.soil import walls
from terrain.units import show_length
from viewer.page import (
    CUT_STEPS,
    INK,
    LEAST_FILL,
    NUMBER,
    OUTLINE,
    Label,
    Page,
    Pen,
    Seat,
    Sheet,
    Type,
    area_between,
    cut_gaps,
    hatch,
    marks,
    seats_along,
    seats_ring,
    seats_round,
)
from viewer.sheets.stream_marks import draw_streams, stream_labels, stream_legend

DIG_TINT = CUT_STEPS[0]
DIG_PEN = Pen(CUT_STEPS[4], 1.1)
UNIT_PEN = Pen(CUT_STEPS[4], 1.8)
FLOW_PEN = Pen(CUT_STEPS[4], 1.2, (7.0, 2.0))
TERRACE_PEN = Pen(OUTLINE, 0.9, (2.5, 2.0))
DROP_PEN = Pen(CUT_STEPS[4], 2.2)
STONES_PEN = Pen(OUTLINE, 4.2, (7.0, 1.4))


def dig_hatch(area: BaseGeometry) -> BaseGeometry:
    """The hatch of dug ground: level lines."""
    return hatch(area, 4.0, 0.0)


def dug(proposal: Proposal) -> BaseGeometry:
    """The ground that is dug by more than a millimetre, metres."""
    area = area_between(proposal.grid, proposal.cut, LEAST_FILL, float("inf"))
    # A dig's sides are steep, so that its edge on the grid runs in stairs of a cell: straighten those.
    return area.simplify(0.8 * proposal.grid.cell)


def draw_digs(page: Page, sheet: Sheet, site: Site, proposal: Proposal, gaps: Sequence[BaseGeometry] = ()) -> None:
    """Dug ground, tinted and hatched, with the units that go into it, the way the channels run, and the streams."""
    page.begin("digs and streams")
    _draw_dug(page, sheet, site, proposal, gaps)
    draw_streams(page, sheet, proposal)


def _draw_dug(page: Page, sheet: Sheet, site: Site, proposal: Proposal, gaps: Sequence[BaseGeometry]) -> None:
    area = sheet.clipped(dug(proposal))
    if area.is_empty:
        return
    page.area(area, DIG_TINT)
    page.lines(cut_gaps([dig_hatch(area)], gaps), Pen(CUT_STEPS[3], 0.4))
    page.lines(area, DIG_PEN)
    for basin in site.basin:
        unit = basin_outline(basin)
        if unit is not None:
            page.lines(sheet.clipped(unit.exterior), UNIT_PEN)
    for channel in site.channel:
        line = sheet.clipped(LineString(channel.line))
        page.lines(cut_gaps([line], gaps), FLOW_PEN)
        page.area(_arrow(line), CUT_STEPS[4])
        page.lines([sheet.clipped(step) for step in _steps(channel)], DROP_PEN)


def _steps(channel: Channel) -> list[LineString]:
    """A line across the bed at each of a channel's drops, metres."""
    line, half = LineString(channel.line), channel.width / 2.0
    found = []
    for drop in channel.drops:
        at = line.project(Point(drop.x, drop.y))
        here, before, after = (
            shapely.get_coordinates(line.interpolate(min(max(s, 0.0), line.length)))[0]
            for s in (at, at - 0.01, at + 0.01)
        )
        along = (after - before) / max(float(np.hypot(*(after - before))), 1e-9)
        aside = half * np.array([-along[1], along[0]])
        found.append(LineString([here + aside, here - aside]))
    return found


def _arrow(line: BaseGeometry) -> Polygon:
    """An arrow head at the middle of a line, pointing along it."""
    if line.is_empty or line.geom_type != "LineString":
        return Polygon()
    ends = shapely.get_coordinates(shapely.line_interpolate_point(line, line.length / 2 + np.array([-4.5, 4.5])))
    along = (ends[1] - ends[0]) / max(float(np.hypot(*(ends[1] - ends[0]))), 1e-9)
    aside = np.array([-along[1], along[0]])
    return Polygon([ends[0] + 3.6 * aside, ends[0] - 3.6 * aside, ends[1] + 1.5 * along])


def draw_built(page: Page, sheet: Sheet, site: Site) -> None:
    """Terraces as fine dashed outlines, retained edges as a row of stones."""
    page.begin("terraces and stones")
    for terrace in site.terrace:
        page.lines(sheet.clipped(terrace.outline.boundary), TERRACE_PEN)
    for edge in site.retained_edge:
        page.lines(sheet.clipped(LineString(edge.line)), STONES_PEN)


def feature_labels(sheet: Sheet, site: Site, proposal: Proposal) -> list[Label]:
    """What each feature is called and how deep or high it is."""
    units, kind = site.units, Type(NUMBER, INK, bold=True)
    labels = []
    for basin in site.basin:
        unit = basin_outline(basin)
        if unit is not None:
            text = f"{basin.name}, {show_length(basin.depth, units)} deep"
            middle = sheet.shape(unit).centroid
            room = basin.clearance + basin.depth / basin.side_slope
            reach = (0.5 * max(np.ptp(unit.bounds[::2]), np.ptp(unit.bounds[1::2])) + room) * sheet.scale.points
            seats = seats_ring(middle.x, middle.y, text, kind, (reach, reach + 10.0, reach + 20.0))
            labels.append(Label(text, seats, kind, 1))
    for channel in site.channel:
        text = f"{channel.name}, {show_length(channel.depth, units)} deep"
        half = channel.width / 2 + channel.depth / channel.side_slope
        seats = _beside(sheet.clipped(LineString(channel.line)), text, kind, half * sheet.scale.points)
        labels.append(Label(text, seats, kind, 1))
    labels += stream_labels(sheet, proposal, units)
    for terrace in site.terrace:
        spot = sheet.shape(terrace.outline).representative_point()
        text = terrace.name
        seats = (Seat(spot.x, spot.y), *seats_round(spot.x, spot.y, text, kind, 8.0))
        labels.append(Label(text, seats, kind, 1))
    for wall in walls(site):
        text = f"{wall.name}, {show_length(wall.retained_height, units)} high"
        labels.append(Label(text, _beside(sheet.clipped(wall.line), text, kind, 2.5), kind, 1))
    return labels


def _beside(line: BaseGeometry, text: str, kind: Type, half: float) -> tuple[Seat, ...]:
    """Seats along both sides of a line that covers `half` points to either side, then off its middle and ends."""
    if line.is_empty or line.geom_type != "LineString":
        return ()
    seats: list[Seat] = []
    for off in (half + 7.5, -half - 7.5):
        aside = shapely.offset_curve(line, off)
        if aside.geom_type == "LineString" and not aside.is_empty:
            seats += seats_along(aside, text, kind)[:30]
    for share in (0.5, 0.25, 0.75, 0.0, 1.0):
        spot = line.interpolate(share, normalized=True)
        seats += seats_ring(spot.x, spot.y, text, kind, (half + 2.0, half + 12.0, half + 24.0))
    return tuple(seats)


def soft_features(sheet: Sheet, site: Site, proposal: Proposal) -> list[BaseGeometry]:
    """Paper of the features that labels would rather not cover."""
    shapes = [
        dug(proposal),
        *(bed.wet for bed in proposal.streams),
        *(terrace.outline.boundary for terrace in site.terrace),
    ]
    shapes += [LineString(edge.line) for edge in site.retained_edge]
    return [sheet.clipped(shape) for shape in shapes]


def feature_legend(site: Site, digs: str = "dug ground") -> list[tuple[marks.Swatch, str]]:
    """Legend entries of the kinds that the site has; `digs` says what a dig means on this drawing."""
    entries: list[tuple[marks.Swatch, str]] = []
    if site.basin or site.channel:
        entries.append((marks.area_swatch(DIG_TINT, DIG_PEN, dig_hatch), digs))
    if site.channel:
        entries.append((marks.line_swatch(FLOW_PEN), "channel, arrow with the water"))
    if any(channel.drops for channel in site.channel):
        entries.append((marks.line_swatch(DROP_PEN), "drop in its bed"))
    return [*entries, *stream_legend(site), *built_legend(site)]


def built_legend(site: Site) -> list[tuple[marks.Swatch, str]]:
    """Those of them that stand on the mound."""
    entries: list[tuple[marks.Swatch, str]] = []
    if site.terrace:
        entries.append((marks.line_swatch(TERRACE_PEN), "terrace"))
    if site.retained_edge:
        entries.append((marks.line_swatch(STONES_PEN), "stones that hold the soil"))
    return entries
