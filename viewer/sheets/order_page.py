"""The soil order on one page: what to send to the yard, and what to keep in the job folder."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from pathlib import Path

from terrain.soil import LINES, ledger_rows, walls, words
from terrain.units import Units, show_length, unit_volume
from viewer.page import FLOOR, MARGIN, Page, Stamp, marks, new_page, numbered, page_of_words, save_book, stamp
from viewer.sheets.order_blocks import FormulaBlock, HeroBlock, PairsBlock, TableBlock, WordsBlock
from viewer.sheets.order_curve import CurveBlock
from viewer.sheets.order_sheet import OrderSheet

WORKING = "The working of the soil order"
GAP = 16.0  # points between blocks, and between the two columns
HEIGHTS = 212.0  # points at the foot for the heights
CAUTION = (
    "Planning figures: swell, shrink, settlement and stone weights are estimates. Order against the supplier's own "
    "figures; locate buried services before any dig."
)


def draw_order(sheet: OrderSheet, path: Path) -> Path:
    """Write the order and its working as pages of PDF, letter or A4 by the site's units."""
    return save_book(numbered([order_page(sheet), working_page(sheet)]), path)


def order_page(sheet: OrderSheet, paper: str | None = None) -> Page:
    """The page, drawn; `paper` is that of the drawings it goes with, where one was asked for."""
    wide, high = page_of_words(sheet.site.units, paper)
    page = new_page(wide, high)
    width, top = wide - 2 * MARGIN, high - MARGIN
    foot = FLOOR
    for block in _head(sheet):
        top -= block.draw(page, MARGIN, top, width, top - foot) + GAP
    shelf = foot + HEIGHTS
    _stand(page, _evened([_left(sheet), _right(sheet)], top - shelf, width), top, shelf, width)
    _stand(page, [_heights(sheet), [CurveBlock(sheet)]], shelf - GAP, foot, width)
    stamp(page, Stamp(sheet.site, "Soil order", caution=CAUTION))
    return page


def working_page(sheet: OrderSheet, paper: str | None = None) -> Page:
    """Every line of the working: what it is, its figure, its measure, and the formula by which it follows."""
    site, order = sheet.site, sheet.order
    wide, high = page_of_words(site.units, paper)
    page = new_page(wide, high)
    width, top = wide - 2 * MARGIN, high - MARGIN
    unit = "cubic yards" if site.units == "ft" else "cubic metres"
    title = marks.TitleBlock(WORKING, f"Volumes in {unit}.")
    top -= title.draw(page, MARGIN, top, width, top) + GAP
    size = unit_volume(site.units)
    rows = []
    for name, value in order.working.items():
        line = LINES[name]
        figure = value / size if line.measure in ("bank", "loose", "placed") else value
        rows.append((words.working_label(line), f"= {words.working_words(line)}", f"{figure:.3f}", line.measure))
    given = WordsBlock("What it starts from", [words.given_words(order, site.units)])
    formulas = FormulaBlock(rows, top - FLOOR - _taken(new_page(wide, high), given, width))
    top -= formulas.draw(page, MARGIN, top, width, top - FLOOR) + GAP
    given.draw(page, MARGIN, top, width, top - FLOOR)
    stamp(page, Stamp(site, WORKING, caution=CAUTION))
    return page


def _evened(columns: Sequence[list[marks.Block]], room: float, width: float) -> Sequence[list[marks.Block]]:
    """Two columns, the last blocks of the second moved to the first where only that has room for them."""
    page, column = new_page(width, room), (width - GAP) / 2.0  # is thrown away
    first, second = ([_taken(page, block, column) for block in blocks] for blocks in columns)
    left, right = columns
    while second and sum(second) - GAP > room and sum(first) + second[-1] - GAP <= room:
        first, left = [*first, second.pop()], [*left, right[-1]]
        right = right[:-1]
    return left, right


def _taken(page: Page, block: marks.Block, column: float) -> float:
    """Points that a block takes with the space under it."""
    used = block.draw(page, 0.0, 0.0, column, math.inf)
    return used + GAP if used else 0.0


def _stand(page: Page, columns: Sequence[Sequence[marks.Block]], top: float, bottom: float, width: float) -> None:
    """Stand blocks in two columns of equal width, top to bottom."""
    column = (width - GAP) / 2.0
    for number, blocks in enumerate(columns):
        here = top
        for block in blocks:
            used = block.draw(page, MARGIN + number * (column + GAP), here, column, here - bottom)
            here -= used + GAP if used else 0.0


def _head(sheet: OrderSheet) -> Iterator[marks.Block]:
    """Title and the figure that matters."""
    what_if = sheet.what_if
    drawing = f"Soil order. What if: {what_if}" if what_if else "Soil order"
    remark = "Volumes in cubic yards." if sheet.site.units == "ft" else "Volumes in cubic metres."
    yield marks.TitleBlock(drawing, remark)
    yield HeroBlock(sheet)


def _left(sheet: OrderSheet) -> list[marks.Block]:
    """How it comes and what it costs."""
    order, site = sheet.order, sheet.site
    blocks: list[marks.Block] = [PairsBlock("How it comes", list(words.fact_words(site, order, sheet.top)))]
    if order.cost is not None:
        lines = [_cost_row(words.cost_words(line, site.units)) for line in order.costs]
        blocks.append(marks.FactsBlock("Cost", [*lines, ("total", words.money(order.cost))]))
        left_out = words.left_out_words(order)
        blocks += [WordsBlock("", [left_out] if left_out else [])]
    trim = words.trim_words(sheet.trim, order, site.units)
    return [*blocks, WordsBlock("The last truck", [trim] if trim else [])]


def _cost_row(text: str) -> tuple[str, str]:
    """ "soil: 3 cu yd at 42.00 = 126.00" as what is paid for, and its amount."""
    what, _, amount = text.rpartition(" = ")
    return what, amount


def _right(sheet: OrderSheet) -> list[marks.Block]:
    """Every layer in each measure; stones, which are bought; then the factors, which the table has too."""
    order, site = sheet.order, sheet.site
    rows = ledger_rows(order.ledger, site.units)
    strong = [False] * len(order.ledger) + [True, True]
    unit = "cu yd" if site.units == "ft" else "m3"
    soils = words.soils_on_the_job(site.soil)
    notes = [f"{words.factor_words(kind, factors)} ({source})." for kind, factors, source in soils]
    causes = words.causes_words(sheet.order.shares)
    notes += [words.CONVENTION]
    unsure = [f"By cause: {causes}."] if causes else []
    unsure += [f"{text[:1].upper()}{text[1:]}" for text in words.doubt_words(order, site.units)]
    stones = walls(site)
    told = [f"{words.stone_words(one, site.units)}." for one in stones]
    return [
        TableBlock(f"Ledger of soil, {unit}", ("", "bank", "loose", "placed"), rows, strong),
        WordsBlock("Stones for retained edges", [*words.stone_cautions(stones), *told]),
        WordsBlock("What makes it unsure", unsure),
        WordsBlock("Factors", notes),
    ]


def _heights(sheet: OrderSheet) -> list[marks.Block]:
    """Lower and higher mounds, each with its order."""
    units: Units = sheet.site.units
    size = unit_volume(units)
    rows, strong = [], []
    for row in sheet.heights:
        this = row.scale == sheet.scale
        strong.append(this)
        rows.append(
            (
                f"{show_length(row.height, units)}{' (held)' if row.limited else ''}",
                f"{row.scale:.2f}",
                words.show_quantity(row.order.quantity, units).split(" ")[0],
                f"{row.order.low / size:.1f} to {row.order.high / size:.1f}",
                "–" if row.order.haul.trucks is None else str(row.order.haul.trucks),
            )
        )
    heads = ("top over existing", "times", "order", "90 % range", "trucks")
    table = TableBlock("What if it were lower or higher", heads, rows, tuple(strong))
    held = [f"Held: {words.HELD}"] if any(row.limited for row in sheet.heights) else []
    return [table, WordsBlock("", held)]
