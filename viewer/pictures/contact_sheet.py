"""The contact sheet: the mound as drawn and every alternative, for a phone one below the other, for a desk abreast.

Both are laid of the same parts at the same scales: plan, view, section, words, and one table of the figures.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial
from math import ceil, inf
from pathlib import Path

from shapely.geometry import LineString

from terrain.units import show_length
from viewer.beside import done_beside
from viewer.page import (
    FAINT,
    INK,
    LEAST,
    SOFT_INK,
    Page,
    Pen,
    Type,
    depth_step,
    fit_size,
    load_letters,
    new_page,
    papers,
    text_size,
    turned,
    wrap,
)
from viewer.pictures.eye_level import lay_picture, place_words
from viewer.pictures.form_drawings import Scales, draw_plan, draw_section, scales_for
from viewer.pictures.forms import (
    Frame,
    SeenForm,
    figure_words,
    further_words,
    look_from,
    seen_forms,
    side_by_side,
    verdict_words,
)
from viewer.pictures.heads import set_heading

DOTS = 144.0
SEEN = 830  # pixels across one view
HEAD = "Other forms for the same bed"


@dataclass(frozen=True)
class Style:
    """How the forms are laid on one kind of page.

    Parameters
    ----------
    wide, edge, gap
        The page's width, its edge and what is left between columns, points.
    columns
        Cells abreast.
    letters
        Size of the letters, points.
    plan_share, plan_high
        Width of a plan as a share of the cell's, and its height in points.
    view_high
        The most that a view may take, points.
    short
        True where the table's figures are not said again, and all words stand beside the plan, under the section.
    """

    wide: float
    edge: float
    gap: float
    columns: int
    letters: float
    plan_share: float
    plan_high: float
    view_high: float
    short: bool

    @property
    def across(self) -> float:
        """Points that a cell is wide."""
        return (self.wide - 2 * self.edge - (self.columns - 1) * self.gap) / self.columns

    @property
    def beside(self) -> float:
        """Points beside a plan."""
        return self.across * (1.0 - self.plan_share) - 8.0

    @property
    def lead(self) -> float:
        """Points from line to line."""
        return 1.28 * self.letters

    @property
    def section_wide(self) -> float:
        """Points that the longest section takes."""
        return self.beside if self.short else self.across

    @property
    def name(self) -> Type:
        """Letters of a form's name."""
        return Type(1.15 * self.letters, INK, bold=True)

    @property
    def strong(self) -> Type:
        """Letters of what a form reads as."""
        return Type(self.letters, INK, bold=True)

    @property
    def body(self) -> Type:
        """Letters of its figures."""
        return Type(self.letters, INK)

    @property
    def soft(self) -> Type:
        """Letters of what it does."""
        return Type(0.97 * self.letters, SOFT_INK)


# On a phone 390 wide two thirds of these points: letters of 10 pixels.
PHONE = Style(585.0, 16.0, 0.0, 1, 15.5, 0.44, 190.0, 400.0, short=False)
COLUMNS, ROWS = 3, 3
# Letters on a desk's sheet, and the height of its plans and views: the first of these in which every form
# has its say. The soft words are a little smaller, and no letter of a sheet is smaller than 7 points.
DESK_SIZES = (
    *((letters, 88.0, 112.0) for letters in (8.8, 8.4, 8.0, 7.6, 7.25)),
    (7.25, 76.0, 96.0),
    (7.25, 64.0, 80.0),
)
OVER = 50.0  # points over the first row of a desk's sheet


def draw_contact_sheet(frames: Sequence[Frame], folder: Path) -> list[Path]:
    """Write suggest.png for a phone, suggest.pdf and suggest.svg for a desk; the first frame is the mound as drawn."""
    phone, desk = contact_pages(frames)
    picture, *others = (folder / f"suggest.{kind}" for kind in ("png", "pdf", "svg"))

    def draw_desk() -> None:
        page = desk()
        for path in others:
            page.save(path, dpi=DOTS)

    load_letters()  # once for both
    with done_beside(draw_desk):
        phone().save(picture, dpi=DOTS)
    return [picture, *others]


def contact_pages(frames: Sequence[Frame]) -> tuple[Callable[[], Page], Callable[[], Page]]:
    """What lays the page for a phone, and what lays the one for a desk."""
    sheet = _ContactSheet.of(frames)
    return partial(_phone_page, sheet), partial(_desk_page, sheet)


@dataclass(frozen=True)
class _ContactSheet:
    """What both pages show: the forms, the place of the eye, the pictures (the first: before), one set of scales."""

    frames: Sequence[Frame]
    seen: tuple[SeenForm, ...]
    scales: Scales
    from_where: str
    told: str

    @classmethod
    def of(cls, frames: Sequence[Frame]) -> _ContactSheet:
        """All that is worked out once."""
        first = frames[0].subject
        stand, units = look_from(first), first.site.units
        view, seen = seen_forms(frames, stand, SEEN)
        scales = scales_for([frame.subject for frame in frames], view)
        told = (
            f"All at one scale, contours every {show_length(scales.interval, units)}, tints of fill every "
            f"{show_length(depth_step(scales.tallest, units), units)}, north up. Views from the {stand.name}, "
            "sections along the bed through the top, heights true. Dashes: the bed as drawn. "
            f"{place_words(stand, units)} Soil is loose; the table says what is ordered. Planning figures."
        )
        return cls(frames, seen, scales, stand.name, told)


def _phone_page(sheet: _ContactSheet) -> Page:
    """One form below the other, figures of all first."""
    style, frames = PHONE, sheet.frames
    table, laid = _FigureTable.of(sheet, style), [_FormCell.of(sheet, frame, style) for frame in frames]
    told = wrap(sheet.told, style.soft, style.across)
    seen = _view_size(sheet, style)
    head = 66.0 + style.lead + 4.0 + seen[1] + 14.0 + table.high + 20.0
    page = new_page(style.wide, head + sum(one.high for one in laid) + style.lead * len(told) + 2 * style.edge)
    _heading(page, sheet, style)
    top = page.height - 66.0
    _before(page, sheet, style, (style.edge, top))
    table.draw(page, (style.edge, top - style.lead - seen[1] - 18.0))
    top = page.height - head
    for number, one in enumerate(laid):
        _cell(page, sheet, number, one, style, (style.edge, top))
        top -= one.high
    _foot(page, told, style)
    return page


def _desk_page(sheet: _ContactSheet) -> Page:
    """The forms in three columns on one sheet to print, the yard before and the figures of all first."""
    frames = sheet.frames
    wide, high = turned(papers(frames[0].study.site.units)[-1])
    rows = max(ceil((len(frames) + 1) / COLUMNS), ROWS)
    for letters, plan_high, view_high in DESK_SIZES:
        style = Style(wide, 24.0, 18.0, COLUMNS, letters, 0.4, plan_high, view_high, short=True)
        laid = [_FormCell.of(sheet, frame, style) for frame in frames]
        told = wrap(sheet.told, style.soft, wide - 2 * style.edge)
        room = (high - OVER - style.edge - style.lead * len(told)) / rows
        if max(one.high for one in laid) <= room:
            break
    page = new_page(wide, high)
    _heading(page, sheet, style)
    corners = [
        (style.edge + (k % COLUMNS) * (style.across + style.gap), high - OVER - (k // COLUMNS) * room)
        for k in range(len(frames) + 1)
    ]
    _before(page, sheet, style, corners[0])
    under = corners[0][1] - style.lead - _view_size(sheet, style)[1] - 10.0
    most = under - (corners[0][1] - room) - 0.4 * style.lead
    _FigureTable.of(sheet, style, most).draw(page, (corners[0][0], under))
    for number, (one, corner) in enumerate(zip(laid, corners[1:], strict=True)):
        _cell(page, sheet, number, one, style, corner)
    _foot(page, told, style)
    return page


def _before(page: Page, sheet: _ContactSheet, style: Style, corner: tuple[float, float]) -> None:
    """The yard as it is, from where every form is seen."""
    left, top = corner
    page.text(left, top - style.lead, f"Before, from the {sheet.from_where}", style.name)
    _view(page, sheet, 0, (left, top - style.lead - 5.0), _view_size(sheet, style))


def _foot(page: Page, told: Sequence[str], style: Style) -> None:
    """What holds for all forms, at the foot of a page."""
    for number, line in enumerate(told):
        page.text(style.edge, 0.9 * style.edge + style.lead * (len(told) - 1 - number), line, style.soft)


def _heading(page: Page, sheet: _ContactSheet, style: Style) -> None:
    name, top = sheet.frames[0].study.site.name, page.height
    title = Type(1.4 * style.letters, INK, bold=True, title=True)
    page.text(style.edge, top - 32.0, HEAD, title)
    at = top - 34.0 - style.lead
    set_heading(page, (style.edge, at), name, style.soft, style.wide - 2 * style.edge, LEAST)


def _view_size(sheet: _ContactSheet, style: Style) -> tuple[float, float]:
    """Width and height of a view in a cell, points."""
    ratio = sheet.scales.view.size[1] / sheet.scales.view.width
    wide = min(style.across, style.view_high / ratio)
    return wide, ratio * wide


def _view(
    page: Page, sheet: _ContactSheet, number: int, corner: tuple[float, float], size: tuple[float, float]
) -> None:
    """One picture with the bed's outline, its upper left corner given."""
    one = sheet.seen[number]
    left, top = corner
    bounds = (left, top - size[1], left + size[0], top)
    lay_picture(page, one.subject, sheet.scales.view, one.picture, bounds, one.built)


@dataclass(frozen=True)
class _FormCell:
    """A form's words as lines with their types, beside its plan and under it, and the points that its cell takes."""

    frame: Frame
    beside: list[tuple[str, Type]]
    under: list[tuple[str, Type]]
    section: float
    high: float

    @classmethod
    def of(cls, sheet: _ContactSheet, frame: Frame, style: Style) -> _FormCell:
        """The words broken for a kind of page."""
        says = [(frame.sentence, style.soft), (verdict_words(frame.study), style.strong)]
        figures = [(text, style.body) for text in (further_words(frame) if style.short else figure_words(frame))]
        beside = _broken([*says, *figures] if style.short else figures, style.beside)
        under = [] if style.short else _broken(says, style.across)
        section = sheet.scales.section_high(style.section_wide / sheet.scales.longest)
        over = style.lead + 5.0 + _view_size(sheet, style)[1] + 4.0
        words = style.lead * len(beside) + (section if style.short else 0.0)
        high = over + max(style.plan_high, words) + 4.0 + style.lead * len(under) + 0.6 * style.lead
        return cls(frame, beside, under, section, high + (0.0 if style.short else section))


def _broken(texts: Sequence[tuple[str, Type]], wide: float) -> list[tuple[str, Type]]:
    return [(line, kind) for text, kind in texts if text for line in wrap(text, kind, wide)]


def _cell(
    page: Page, sheet: _ContactSheet, number: int, laid: _FormCell, style: Style, corner: tuple[float, float]
) -> None:
    """Name, view, section, plan and words of one form, from the top down."""
    frame, (left, top) = laid.frame, corner
    page.text(left, top - style.lead, frame.name, fit_size(frame.name, style.name, style.across, LEAST))
    top -= style.lead + 5.0
    seen = _view_size(sheet, style)
    _view(page, sheet, number + 1, (left, top), seen)
    top -= seen[1] + 4.0
    wide = style.across * style.plan_share
    aside = left + wide + 8.0
    size = style.section_wide / sheet.scales.longest
    draw_section(page, frame.subject, sheet.scales, size, aside if style.short else left, top)
    words = top - laid.section
    top = top if style.short else words
    draw_plan(page, frame.subject, sheet.scales, (left, top - style.plan_high, left + wide, top))
    _lines(page, laid.beside, style, (aside, words))
    top -= max(style.plan_high, style.lead * len(laid.beside)) + 4.0
    _lines(page, laid.under, style, (left, top))


def _lines(page: Page, lines: Sequence[tuple[str, Type]], style: Style, corner: tuple[float, float]) -> None:
    for count, (line, kind) in enumerate(lines):
        page.text(corner[0], corner[1] - style.lead * (count + 1) + 0.25 * style.lead, line, kind)


@dataclass(frozen=True)
class _FigureTable:
    """The figures of all forms side by side; `edges` are the right edges of its columns, points from its left."""

    heads: list[str]
    rows: list[list[str]]
    edges: list[float]
    kind: Type
    lead: float
    wide: float

    @classmethod
    def of(cls, sheet: _ContactSheet, style: Style, most: float = inf) -> _FigureTable:
        """The table as wide as a cell and at most `most` points high, in letters no larger than let it fit."""
        heads, rows = side_by_side(sheet.frames)
        for size in (1.0, 0.94, 0.88, 0.82, 0.76, 0.7, 0.64):
            kind = Type(size * style.body.size, INK)
            widths = [max(text_size(row[k], kind)[0] for row in [heads, *rows]) for k in range(len(heads))]
            spare = (style.across - sum(widths)) / max(len(heads) - 1, 1)
            if spare >= 0.6 * kind.size and 1.15 * kind.size * (len(rows) + 1) <= most:
                break
        edges = [
            widths[0],
            *(style.across - sum(widths[k + 1 :]) - spare * (len(heads) - 1 - k) for k in range(1, len(heads))),
        ]
        lead = min(1.35 * kind.size, most / (len(rows) + 1))
        return cls(heads, rows, edges, kind, lead, style.across)

    @property
    def high(self) -> float:
        """Points that it takes."""
        return self.lead * (len(self.rows) + 1)

    def draw(self, page: Page, corner: tuple[float, float]) -> None:
        """Headings and rows, a rule under each."""
        left, top = corner
        soft, pen = Type(self.kind.size, SOFT_INK), Pen(FAINT, 0.5)
        for count, row in enumerate([self.heads, *self.rows]):
            up = top - self.lead * (count + 1)
            for k, cell in enumerate(row):
                kind = soft if count == 0 else self.kind
                page.text(
                    left + (0.0 if k == 0 else self.edges[k]),
                    up + 0.32 * self.lead,
                    cell,
                    kind,
                    "right" if k else "left",
                )
            page.lines(LineString([(left, up), (left + self.wide, up)]), pen)
