"""How sure the existing grade is by place: its standard deviation in steps, each with its number."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from terrain.field import ground_part
from terrain.numerics import CENTRAL_90
from terrain.site import north_of
from terrain.units import Units, show_span, show_volume, unit_length, unit_volume
from viewer.page import (
    INK,
    NUMBER,
    PAPER,
    SOFT_INK,
    UNSURE_STEPS,
    Label,
    Page,
    Pen,
    PlacedLabel,
    Sheet,
    Type,
    area_between,
    contour_lines,
    marks,
    new_page,
    outline_entry,
    pens,
    place,
    seats_along,
    spread,
    stamp_sheet,
)
from viewer.sheets import layers
from viewer.sheets.ground_subject import (
    GroundSubject,
    doubt_labels,
    draw_left_out,
    draw_wanted,
    draw_yard,
    ground_sheet,
    next_swatch,
    speck_swatch,
    taken,
    tape_lines,
    tree_names,
    wanted_labels,
)
from viewer.sheets.plan_words import shot_swatch

# Steps of deviation, inches or centimetres.
_STEPS: dict[Units, tuple[float, ...]] = {
    "ft": (0.05, 0.1, 0.25, 0.5, 1.0, 2.0, 4.0, 6.0, 12.0),
    "m": (0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0),
}
_BANDS = 5

TITLE = "How sure the ground is"


def deviation_page(subject: GroundSubject) -> Page:
    """The map of the ground's standard deviation as a page."""
    study, sheet = subject.study, ground_sheet(subject)
    page = new_page(sheet.width, sheet.height)
    edges = band_edges(subject)
    tints = spread(UNSURE_STEPS, len(edges))
    lines = _step_lines(subject, sheet, edges)
    placed = _labels(subject, sheet, edges, lines)
    gaps = [item.box for item in placed]
    for low, high, tint in zip(edges, [*edges[1:], np.inf], tints, strict=True):
        page.area(sheet.clipped(area_between(study.ground.grid, study.ground.deviation, low, high)), tint)
    page.lines(lines, Pen(INK, 0.5))
    page.lines(sheet.clipped(study.ground.hull.exterior), replace(pens.SURVEY_PEN, colour=INK))
    draw_yard(page, sheet, subject, gaps)
    layers.draw_shots(page, sheet, study.site, study.ground, INK)
    draw_left_out(page, sheet, subject)
    draw_wanted(page, sheet, subject, gaps)
    for item in placed:  # on the tints every text stands on paper
        page.area(item.box.buffer(0.4), PAPER)
    layers.write_labels(page, placed)
    marks.frame_line(page, sheet)
    marks.flow(page, sheet.panels, _columns(subject, sheet, edges, tints))
    stamp_sheet(page, subject.study.site, TITLE, sheet)
    return page


def _small(units: Units) -> float:
    """Metres in an inch or a centimetre."""
    return unit_length("ft") / 12.0 if units == "ft" else 0.01


def band_edges(subject: GroundSubject) -> list[float]:
    """Lower edges in metres of five bands: four part the deviation in and near the bed, the last is open."""
    study = subject.study
    ground, units = study.ground, study.site.units
    nodes = ground.grid.nodes
    near = shapely.contains_xy(study.site.bed.outline.buffer(1.0), nodes[:, 0], nodes[:, 1])
    most = float(np.quantile(ground.deviation.ravel()[near], 0.98)) / _small(units)
    step = next((size for size in _STEPS[units] if most <= (_BANDS - 1) * size), _STEPS[units][-1])
    return [k * step * _small(units) for k in range(_BANDS)]


def _step_lines(subject: GroundSubject, sheet: Sheet, edges: Sequence[float]) -> list[BaseGeometry]:
    """The lines between steps, on the paper, where no house or walk lies over them."""
    ground, site = subject.study.ground, subject.study.site
    lines = contour_lines(ground.grid, ground.deviation, np.array(edges[1:]))
    over = shapely.union_all([*(house.outline for house in site.building), *(c.outline for c in site.keep_clear)])
    return [sheet.clipped(line.difference(over)).simplify(0.12) for line in lines]


def _labels(
    subject: GroundSubject, sheet: Sheet, edges: Sequence[float], lines: Sequence[BaseGeometry]
) -> list[PlacedLabel]:
    """Numbers on the lines, names of what stands there, places to shoot next."""
    site, kind = subject.study.site, Type(NUMBER, INK, bold=True)
    labels = wanted_labels(sheet, subject) + doubt_labels(sheet, subject) + layers.structure_labels(sheet, site)
    labels += tree_names(sheet, site)
    for edge, line in zip(edges[1:], lines, strict=True):
        text = step_text(edge, site.units)
        for part in layers.longest_first(line)[:3]:
            labels.append(Label(text, seats_along(part, text, kind)[:60], kind, 2, "step"))
    soft: list[BaseGeometry] = [*layers.soft_ground(sheet, site), *tape_lines(sheet, subject)]
    return place(labels, sheet.room.buffer(-3.0), taken(sheet, subject), soft)


def step_text(metres: float, units: Units) -> str:
    """A deviation as a bare number, inches or centimetres."""
    return f"{metres / _small(units):.2f}".rstrip("0").rstrip(".") or "0"


def _columns(
    subject: GroundSubject, sheet: Sheet, edges: Sequence[float], tints: Sequence[str]
) -> list[list[marks.Block]]:
    """The words beside the map, by columns."""
    units, study = sheet.units, subject.study
    word = "inches" if units == "ft" else "centimetres"
    remark = f"Standard deviation of the existing grade, {word}: two of three places are within it."
    entries: list[tuple[marks.Swatch, str]] = []
    for low, high, tint in zip(edges, [*edges[1:], None], tints, strict=True):
        unit = "in" if units == "ft" else "cm"
        text = f"{step_text(low, units)} to {step_text(high, units)}" if high else f"over {step_text(low, units)}"
        entries.append((marks.area_swatch(tint, Pen(SOFT_INK, 0.5)), f"{text} {unit}"))
    shot = (shot_swatch, "shot") if len(layers.shot_spots(sheet, study.site)) else (speck_swatch, "shots")
    entries += [shot, outline_entry()]
    if subject.wanted:
        entries.append((next_swatch, "shoot here next, and its tapes"))
    return [
        [
            marks.TitleBlock(TITLE, remark),
            marks.ScaleBlock(sheet, north_of(study.site)),
            marks.FactsBlock("Soil expected, 90 % range", range_rows(subject)),
        ],
        [
            marks.FactsBlock("The ground's own part of it", ground_rows(subject)),
            marks.FactsBlock("What makes it unsure", share_rows(subject)),
        ],
        [marks.LegendBlock(entries)],
    ]


def range_rows(subject: GroundSubject) -> list[tuple[str, str]]:
    """The order's range as it is and once all the places are shot."""
    order, units = subject.study.order, subject.study.site.units
    rows = [("now", (order.low, order.high))]
    if subject.wanted:
        rows.append((with_all(subject), subject.wanted[-1].order))
    return [(what, show_span(*ends, units)) for what, ends in rows]


def with_all(subject: GroundSubject) -> str:
    """ "with N1 to N3 shot"."""
    first, last = subject.wanted[0].name, subject.wanted[-1].name
    return f"with {first} shot" if first == last else f"with {first} to {last} shot"


def ground_rows(subject: GroundSubject) -> list[tuple[str, str]]:
    """Half the 90 % range that the existing grade alone makes, now and after each place to shoot."""
    units, order = subject.study.site.units, subject.study.order
    rows = [("now", part_words(ground_part(order.shares), units))]
    return rows + [(f"then {one.name}", part_words(one.ground, units)) for one in subject.wanted]


def part_words(m3: float, units: Units) -> str:
    """Half a range: "± 0.31 cu yd", with two decimals because shots change little figures."""
    return f"± {m3 / unit_volume(units):.2f} {'cu yd' if units == 'ft' else 'm3'}"


def share_rows(subject: GroundSubject) -> list[tuple[str, str]]:
    """Each cause of the order's range: half its own 90 % range, and its share of the variance."""
    order, units = subject.study.order, subject.study.site.units
    whole = sum(share.deviation**2 for share in order.shares)
    return [
        (
            share.cause,
            f"± {show_volume(CENTRAL_90 * share.deviation, units)}, {100.0 * share.deviation**2 / whole:.0f} %",
        )
        for share in sorted(order.shares, key=lambda share: -share.deviation)
        if share.deviation > 0.0
    ]
