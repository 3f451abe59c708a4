"""The words beside the contour plan: title, figures, cautions, legend."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from shapely.geometry import Point

from terrain.findings import Finding
from terrain.ground import lie_of
from terrain.site import north_of
from terrain.soil import buy_words
from terrain.units import show_length, show_slope, show_span, show_volume, unit_length
from viewer.page import (
    CAUTIONS,
    FOOT_PANEL,
    INK,
    KEEP_OFF,
    NUMBER,
    Bounds,
    Page,
    PartKey,
    Pen,
    Sheet,
    Subject,
    Type,
    marks,
    outline_entry,
    pens,
    top_of_mound,
)
from viewer.sheets import features, layers, yard_marks
from viewer.sheets.spots import spot_legend

TITLE = "Contour plan of the mound"
LEGEND_ROWS = 13  # entries of the legend that stand in the third column; the others go on in the second
ROW = 13.5  # points that an entry takes
CAUTION_ROOM = 48.0  # points that a caution or two take under all columns
FACTS = 165.0  # points that the figures over those others take


def plan_columns(
    subject: Subject,
    sheet: Sheet,
    interval: float,
    findings: Sequence[Finding],
    notes: tuple[str, str],
) -> list[list[marks.Block]]:
    """The words beside the plan, by columns; `notes` are where findings without room are, and what lies under it."""
    rest_in, under = notes
    units = sheet.units
    depth = "inches" if units == "ft" else "centimetres"
    lie = lie_of(subject.site, subject.ground).short
    length = "feet" if units == "ft" else "metres"
    remark = f"Proposed: the {subject.grade} grade. Existing ground {lie}. Elevations in {length}, depths in {depth}."
    remark += f" Under it {under}" if under else ""
    warned = [("stop" if f.level == "stop" else "!", f.text) for f in findings if f.level != "note"]
    entries = _legend(subject)
    # Where the words stand in columns the legend goes on under the figures.
    here = _rows_in_a_column(entries) if len(sheet.panels) > 1 else len(entries)
    return [
        [
            marks.TitleBlock(TITLE, remark),
            marks.ScaleBlock(sheet, north_of(subject.site)),
            PartKey(sheet, north_of(subject.site)),
            marks.NotesBlock(CAUTIONS, warned, rest_in),
        ],
        [marks.FactsBlock("At a glance", facts(subject, interval)), marks.LegendBlock(entries[here:], "")],
        [marks.LegendBlock(entries[:here])],
    ]


def _rows_in_a_column(entries: Sequence[object]) -> int:
    """How many entries of the legend stand in the third column: one alone does not go on in the second."""
    return len(entries) if len(entries) <= LEGEND_ROWS + 1 else LEGEND_ROWS


def words_height(subject: Subject) -> float:
    """Points of height that the words of the plan take where they stand in columns."""
    entries = _legend(subject)
    under = len(entries) - _rows_in_a_column(entries)
    return max(FOOT_PANEL, FACTS + ROW * under) if under > 0 else FOOT_PANEL


def facts(subject: Subject, interval: float | None = None) -> list[tuple[str, str]]:
    """The figures that stand beside a drawing."""
    units, order, proposal = subject.site.units, subject.order, subject.proposal
    rows = [
        ("Soil to order", buy_words(order, units)),
        ("expected", show_volume(order.expected, units, "loose")),
        ("likely between", show_span(order.low, order.high, units, "and")),
        ("Height of the mound", show_length(top_of_mound(proposal)[2], units)),
        ("Steepest side (run:rise)", show_slope(proposal.steepest)),
        ("Limit (run:rise)", show_slope(subject.site.berm.max_slope)),
        *width_fact(subject),
    ]
    if interval is not None:
        step = f"{interval / unit_length(units):g} {units}"
        rows.append(("Contour interval", step))
    return rows


def width_fact(subject: Subject) -> list[tuple[str, str]]:
    """The other ratio that people use, named so that nobody takes it for the side slope."""
    ratio = subject.look.width_to_height
    return [] if ratio is None else [("Mound's width to height", f"{ratio:.1f} to 1")]


def _legend(subject: Subject) -> list[tuple[marks.Swatch, str]]:
    """Only what the plan shows."""
    site = subject.site
    entries: list[tuple[marks.Swatch, str]] = [
        (marks.line_swatch(pens.PROPOSED_STRONG), "proposed contour"),
        outline_entry(),
        (_depth_swatch, f"depth of fill, {'in' if site.units == 'ft' else 'cm'}"),
        (_crest_swatch, "high point (height over existing)"),
    ]
    if site.survey.measured:
        entries.insert(1, (marks.line_swatch(pens.EXISTING_STRONG), "existing; dotted: not surveyed"))
        entries += [(shot_swatch, "shot"), (marks.line_swatch(pens.SURVEY_PEN), "edge of the survey")]
    if subject.ground.check.doubtful:
        entries.append((doubt_swatch, "doubtful shot"))
    entries += [*layers.standing_legend(site), *yard_marks.yard_legend(site)]
    entries += [*spot_legend(), *features.feature_legend(site)]
    return [*entries, (marks.line_swatch(pens.SECTION_PEN), "section")]


def _middle(bounds: Bounds) -> Point:
    """Middle of a swatch."""
    return Point((bounds[0] + bounds[2]) / 2, (bounds[1] + bounds[3]) / 2)


def _depth_swatch(page: Page, bounds: Bounds) -> None:
    """A dot with a number."""
    middle = _middle(bounds)
    page.area(Point(bounds[0] + 8.0, middle.y).buffer(1.3), INK)
    page.text(bounds[0] + 12.0, middle.y - 2.9, "14", Type(NUMBER))


def _crest_swatch(page: Page, bounds: Bounds) -> None:
    """The mark of a crest point."""
    layers.draw_peak(page, _middle(bounds).x, _middle(bounds).y)


def shot_swatch(page: Page, bounds: Bounds) -> None:
    """A shot's cross."""
    middle = _middle(bounds)
    page.lines(layers.crosses(np.array([[middle.x, middle.y]]), 2.3), pens.CROSS_PEN)


def doubt_swatch(page: Page, bounds: Bounds) -> None:
    """A doubtful shot's cross in its ring."""
    middle = _middle(bounds)
    page.lines(layers.crosses(np.array([[middle.x, middle.y]]), 3.0), pens.DOUBT_PEN)
    page.lines(middle.buffer(5.5).exterior, Pen(KEEP_OFF, 1.1))
