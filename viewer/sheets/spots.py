"""Spot elevations at the toes and slope arrows on the sides, where the sections run."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from shapely.geometry import LineString, Point, Polygon
from shapely.geometry.base import BaseGeometry

from terrain.grid import Array
from terrain.units import show_length
from viewer.page import (
    INK,
    LEAST_FILL,
    NUMBER,
    SMALL,
    Bounds,
    Label,
    Page,
    Pen,
    Sheet,
    Subject,
    Type,
    marks,
    seats_round,
    section_lines,
)
from viewer.sheets.profile import Profile, profile_of, steepest_places

ARROW = 26.0  # points: length of a slope arrow
HEAD = 5.0  # points: length of its head
ARROW_PEN = Pen(INK, 0.9)
SPOT_PEN = Pen(INK, 0.8)
CLEAR = 0.6  # metres from the top within which no slope is told where there is another place for it


@dataclass(frozen=True)
class SlopeArrow:
    """An arrow down a side: its place and the unit direction (2,) in metres, and the slope there as rise/run."""

    at: tuple[float, float]
    way: Array
    slope: float

    @property
    def text(self) -> str:
        """The slope as people write it beside an arrow."""
        return f"{100.0 * self.slope:.1f} %"

    def line(self, sheet: Sheet) -> LineString:
        """The arrow on the paper, tail first."""
        middle, half = sheet.points(np.array([self.at]))[0], ARROW / 2.0 * sheet.ways(self.way[None])[0]
        return LineString([middle - half, middle + half])


def toe_spots(subject: Subject) -> list[tuple[float, float, str]]:
    """Place in metres and proposed elevation as a bare number, at both toes of both sections."""
    found = []
    for profile in _profiles(subject):
        covered = np.flatnonzero(profile.fill > LEAST_FILL)
        for k in (covered[0], covered[-1]) if covered.size else ():
            east, north = profile.section.places(profile.stations[[k]])[0]
            text = show_length(float(profile.proposed[k]), subject.site.units, "elevation").split(" ")[0]
            found.append((float(east), float(north), text))
    return found


def slope_arrows(subject: Subject) -> list[SlopeArrow]:
    """An arrow at the steepest place of each side of both sections, down the fall of the proposed grade there."""
    grid = subject.proposal.grid
    north, east = (np.asarray(part) for part in np.gradient(subject.proposal.elevation, grid.cell))
    found = []
    for profile in _profiles(subject):
        for k, _ in steepest_places(profile, CLEAR):
            at = profile.section.places(profile.stations[[k]])
            fall = -np.array([grid.sample(east, at)[0], grid.sample(north, at)[0]])
            slope = float(np.hypot(*fall))
            if slope > 0.0:
                found.append(SlopeArrow((float(at[0, 0]), float(at[0, 1])), fall / slope, slope))
    return found


def _profiles(subject: Subject) -> list[Profile]:
    return [profile_of(subject, section) for section in section_lines(subject.site, subject.proposal)]


def draw_slope_arrows(page: Page, sheet: Sheet, arrows: Sequence[SlopeArrow]) -> None:
    """The arrows, each with its head at the low end."""
    for arrow in arrows:
        line = arrow.line(sheet)
        if sheet.room.contains(line):
            page.lines(line, ARROW_PEN)
            page.area(arrow_head(line), INK)


def arrow_head(line: LineString) -> Polygon:
    """A head at the far end of a straight line."""
    (tail_x, tail_y), (x, y) = line.coords[0], line.coords[-1]
    tip, tail = np.array([x, y]), np.array([tail_x, tail_y])
    way = (tip - tail) / np.hypot(*(tip - tail))
    aside = np.array([-way[1], way[0]])
    foot = tip - HEAD * way
    return Polygon([tip, foot + 0.38 * HEAD * aside, foot - 0.38 * HEAD * aside])


def draw_toe_spots(page: Page, sheet: Sheet, spots: Sequence[tuple[float, float, str]]) -> None:
    """A small ring with a dot at each toe."""
    for east, north, _ in spots:
        spot = sheet.shape(Point(east, north))
        if not sheet.room.contains(spot):
            continue
        page.lines(spot.buffer(2.2).exterior, SPOT_PEN)
        page.area(spot.buffer(0.8), INK)


def spot_labels(
    sheet: Sheet, spots: Sequence[tuple[float, float, str]], arrows: Sequence[SlopeArrow]
) -> tuple[list[Label], list[BaseGeometry]]:
    """The words of spots and arrows, and the paper that their marks take."""
    labels: list[Label] = []
    taken: list[BaseGeometry] = []
    for east, north, text in spots:
        spot, kind = sheet.shape(Point(east, north)), Type(NUMBER, INK, bold=True)
        labels.append(Label(f"+{text}", seats_round(spot.x, spot.y, f"+{text}", kind, 3.5), kind, 1, "toe"))
        taken.append(spot.buffer(2.8))
    for arrow in arrows:
        line, kind = arrow.line(sheet), Type(SMALL, INK)
        (way,) = sheet.ways(arrow.way[None])
        aside = 3.0 + 4.0 * np.array([-way[1], way[0]])
        middle = line.centroid
        seats = [
            seat
            for side in (1.0, -1.0)
            for seat in seats_round(middle.x + side * aside[0], middle.y + side * aside[1], arrow.text, kind, 3.0)
        ]
        labels.append(Label(arrow.text, tuple(seats), kind, 1, "slope"))
        taken.append(line.buffer(2.0))
    return labels, taken


def toe_swatch(page: Page, bounds: Bounds) -> None:
    """The ring of a toe."""
    spot = Point((bounds[0] + bounds[2]) / 2, (bounds[1] + bounds[3]) / 2)
    page.lines(spot.buffer(2.2).exterior, SPOT_PEN)
    page.area(spot.buffer(0.8), INK)


def arrow_swatch(page: Page, bounds: Bounds) -> None:
    """A slope arrow."""
    up = (bounds[1] + bounds[3]) / 2
    line = LineString([(bounds[0] + 2.0, up), (bounds[2] - 2.0, up)])
    page.lines(line, ARROW_PEN)
    page.area(arrow_head(line), INK)


def spot_legend() -> list[tuple[marks.Swatch, str]]:
    """Legend entries of both."""
    return [(toe_swatch, "toe, proposed elevation"), (arrow_swatch, "slope, down the arrow")]
