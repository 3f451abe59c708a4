"""Height against soil as a curve: the range as a band, what to order as a line, this order as a mark."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from shapely.geometry import LineString, Point, Polygon, box
from shapely.geometry.base import BaseGeometry

from terrain.grid import Array
from terrain.numerics import sound
from terrain.soil import HeightRow
from terrain.units import Units, unit_volume
from viewer.page import (
    FAINT,
    FILL_STEPS,
    HEADING,
    INK,
    NUMBER,
    PAPER,
    PROPOSED,
    SMALL,
    SOFT_INK,
    Page,
    Pen,
    Type,
    hatch,
    new_page,
    text_size,
    wrap,
)
from viewer.sheets.order_sheet import OrderSheet

GUTTER = 30.0  # points at the left for the figures of the soil
FOOT = 28.0  # points below for the heights
THIS = "this order"
LEAD = 9.5  # points from line to line
BAR = 8.0  # points: width of the range where there is one height


WIDE, HIGH = 320.0, 240.0  # points of the curve by itself


def soil_curve(sheet: OrderSheet) -> Page:
    """The curve by itself."""
    page = new_page(WIDE, HIGH)
    CurveBlock(sheet).draw(page, 0.0, HIGH, WIDE, HIGH)
    return page


@dataclass(frozen=True)
class CurveBlock:
    """A heading and the curve under it."""

    sheet: OrderSheet

    def draw(self, page: Page, left: float, top: float, width: float, room: float) -> float:
        """Draw the curve over all the room that there is."""
        units = self.sheet.site.units
        page.text(left, top - 10.0, "Soil for each height", Type(HEADING, bold=True))
        unit = "cu yd" if units == "ft" else "m3"
        what = "have, on hand and bought" if self.sheet.order.on_hand > 0.0 else "order"
        told = f"{unit} loose; the line is what to {what}, the hatch the 90 % range"
        lines = wrap(told, Type(SMALL, SOFT_INK), width)
        for number, line in enumerate(lines):
            page.text(left, top - 24.0 - LEAD * number, line, Type(SMALL, SOFT_INK))
        frame = (left + GUTTER, top - room + FOOT, left + width - 4.0, top - 40.0 - LEAD * (len(lines) - 1))
        _curve(page, self.sheet, frame)
        thin = "in" if units == "ft" else "cm"
        page.text(
            frame[2], frame[1] - 24.0, f"top over existing grade when settled, {thin}", Type(SMALL, SOFT_INK), "right"
        )
        return room


def _curve(page: Page, sheet: OrderSheet, frame: tuple[float, float, float, float]) -> None:
    """Band, line and mark inside the frame, with round figures at its edges."""
    units = sheet.site.units
    tops, low, high, orders = _figures(sheet, units)
    left, bottom, right, top = frame
    steps = _round_steps(float(tops.min()), float(tops.max())), _round_steps(float(low.min()), float(high.max()))

    def scale(values: Array, marks: Array, start: float, end: float) -> Array:
        span = max(float(marks[-1] - marks[0]), 1e-9)
        return np.asarray(start + (end - start) * (values - marks[0]) / span)

    def places(volumes: Array) -> Array:
        return np.column_stack([scale(tops, steps[0], left, right), scale(volumes, steps[1], bottom, top)])

    band = _band(places(low), places(high))
    page.area(band, FILL_STEPS[0])
    page.lines(hatch(band, 5.0), Pen(FILL_STEPS[1], 0.5))
    for mark, up in zip(steps[1], scale(steps[1], steps[1], bottom, top), strict=True):
        page.lines(LineString([(left, up), (right, up)]), Pen(FAINT, 0.4))
        page.text(left - 5.0, float(up) - 2.9, f"{mark:g}", Type(NUMBER, SOFT_INK), "right")
    for mark, across in zip(steps[0], scale(steps[0], steps[0], left, right), strict=True):
        page.lines(LineString([(across, bottom), (across, bottom - 3.0)]), Pen(SOFT_INK, 0.6))
        page.text(float(across), bottom - 12.0, f"{mark:g}", Type(NUMBER, SOFT_INK), "middle")
    line = places(orders)
    if len(line) > 1:
        page.lines(LineString(line), Pen(PROPOSED, 1.6))
    for spot in line:
        page.area(Point(spot).buffer(1.8), PROPOSED)
    _mark_this(page, sheet, places, line, frame)


def _band(low: Array, high: Array) -> BaseGeometry:
    """The range between two lines; an upright bar where the limits leave the mound one height."""
    if len(low) > 1:
        return sound(Polygon(np.vstack([low, high[::-1]])))
    (across, foot), top = low[0], high[0, 1]
    return box(across - BAR / 2.0, foot, across + BAR / 2.0, top)


def _rising(sheet: OrderSheet) -> list[HeightRow]:
    """The rows whose tops rise from one to the next: where the limits hold a mound, asking for more may bring less."""
    rows: list[HeightRow] = []
    for row in sheet.heights:
        this = row.scale == sheet.scale
        if this:
            rows = [lower for lower in rows if lower.height < row.height]
        if this or not rows or row.height > rows[-1].height:
            rows.append(row)
    return rows


def _figures(sheet: OrderSheet, units: Units) -> tuple[Array, Array, Array, Array]:
    """Heights, low and high ends and orders of all rows, in the units that the curve is read in."""
    thin, size = 0.0254 if units == "ft" else 0.01, unit_volume(units)
    rows = _rising(sheet)
    tops = np.array([row.height / thin for row in rows])
    low = np.array([row.order.low / size for row in rows])
    high = np.array([row.order.high / size for row in rows])
    orders = np.array([(row.order.on_hand + row.order.quantity) / size for row in rows])
    return tops, low, np.maximum(high, orders), orders


def _mark_this(
    page: Page,
    sheet: OrderSheet,
    places: Callable[[Array], Array],
    line: Array,
    frame: tuple[float, float, float, float],
) -> None:
    """A ring round the mound of this order, its words inside the frame."""
    this = next(k for k, row in enumerate(_rising(sheet)) if row.scale == sheet.scale)
    across, up = (float(value) for value in line[this])
    page.lines(Point(across, up).buffer(4.6).exterior, Pen(INK, 1.3))
    near_right = across > (frame[0] + frame[2]) / 2.0
    kind, anchor = Type(NUMBER, bold=True), "right" if near_right else "left"
    start = across + (-8.0 if near_right else 8.0)
    lift = up + 9.0 if up + 18.0 < frame[3] else up - 15.0
    far = start + text_size(THIS, kind)[0] * (-1.0 if near_right else 1.0)
    page.area(box(min(start, far) - 1.5, lift - 2.5, max(start, far) + 1.5, lift + 7.5), PAPER, 0.85)
    page.text(start, lift, THIS, kind, anchor)


def _round_steps(least: float, most: float) -> Array:
    """Four to nine round figures from at most `least` to at least `most`."""
    spread = max(most - least, 0.05 * abs(most), 1e-6)
    power = 10.0 ** math.floor(math.log10(spread / 4.0))
    step = next(size * power for size in (1.0, 2.0, 5.0, 10.0) if spread / (size * power) <= 7.0)
    first, last = math.floor(least / step), math.ceil(most / step)
    return np.array([step * k for k in range(first, max(last, first + 1) + 1)])
