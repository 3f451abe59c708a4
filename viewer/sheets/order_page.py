"""The soil order on one page: what to send to the yard, and what to keep in the job folder."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path

from terrain.flow import Study
from terrain.soil import words
from terrain.soil.chain import LINES
from terrain.soil.heights import top_height
from terrain.soil.ledger import sums
from terrain.soil.stone import walls
from terrain.soil.what_if import what_if_words
from terrain.units import Units, show_length, unit_volume
from viewer.page import marks
from viewer.page.page import Page, new_page, save_book
from viewer.page.sheet import MARGIN, page_of_words
from viewer.sheets.order_blocks import FormulaBlock, HeroBlock, PairsBlock, TableBlock, WordsBlock
from viewer.sheets.order_curve import CurveBlock

GAP = 16.0  # points between blocks, and between the two columns
HEIGHTS = 232.0  # points at the foot for the heights
CAUTION = (
    "Planning figures: swell, shrink, settlement and stone weights are estimates. Order against the supplier's own "
    "figures; locate buried services before any dig."
)


def draw_order(study: Study, path: Path) -> Path:
    """Write the order and its working as pages of PDF, letter or A4 by the site's units."""
    return save_book([order_page(study), working_page(study)], path)


def order_page(study: Study, paper: str | None = None) -> Page:
    """The page, drawn; `paper` is that of the drawings it goes with, where one was asked for."""
    wide, high = page_of_words(study.site.units, paper)
    page = new_page(wide, high)
    width, top = wide - 2 * MARGIN, high - MARGIN
    foot = MARGIN + 24.0
    for block in _head(study):
        top -= block.draw(page, MARGIN, top, width, top - foot) + GAP
    shelf = foot + HEIGHTS
    _stand(page, [_left(study), _right(study)], top, shelf, width)
    _stand(page, [_heights(study), [CurveBlock(study)]], shelf - GAP, foot, width)
    marks.caution_line(page, CAUTION)
    return page


def working_page(study: Study, paper: str | None = None) -> Page:
    """Every line of the working: what it is, its figure, its measure, and the formula by which it follows."""
    site, order = study.site, study.order
    wide, high = page_of_words(site.units, paper)
    page = new_page(wide, high)
    width, top = wide - 2 * MARGIN, high - MARGIN
    unit = "cubic yards" if site.units == "ft" else "cubic metres"
    title = marks.TitleBlock(site.name, "The working of the soil order", f"Volumes in {unit}.")
    top -= title.draw(page, MARGIN, top, width, top) + GAP
    size = unit_volume(site.units)
    rows = []
    for name, value in order.working.items():
        line = LINES[name]
        volume = line.measure in ("bank", "loose", "placed")
        rows.append((line.label, words.working_words(line), f"{value / (size if volume else 1.0):.3f}", line.measure))
    FormulaBlock(rows).draw(page, MARGIN, top, width, top - MARGIN)
    return page


def _stand(page: Page, columns: Sequence[Sequence[marks.Block]], top: float, bottom: float, width: float) -> None:
    """Stand blocks in two columns of equal width, top to bottom."""
    column = (width - GAP) / 2.0
    for number, blocks in enumerate(columns):
        here = top
        for block in blocks:
            used = block.draw(page, MARGIN + number * (column + GAP), here, column, here - bottom)
            here -= used + GAP if used else 0.0


def _head(study: Study) -> Iterator[marks.Block]:
    """Title and the figure that matters."""
    what_if = what_if_words(study.site, study.proposal, study.asked)
    drawing = f"Soil order. What if: {what_if}" if what_if else "Soil order"
    remark = "Volumes in cubic yards." if study.site.units == "ft" else "Volumes in cubic metres."
    yield marks.TitleBlock(study.site.name, drawing, remark)
    yield HeroBlock(study)


def _left(study: Study) -> list[marks.Block]:
    """How it comes and what it costs."""
    order, site = study.order, study.site
    blocks: list[marks.Block] = [
        PairsBlock("How it comes", list(words.fact_words(site, order, top_height(study.proposal))))
    ]
    if order.cost is not None:
        lines = [_cost_row(words.cost_words(line, site.units)) for line in order.costs]
        blocks.append(marks.FactsBlock("Cost", [*lines, ("total", words.money(order.cost))]))
    trim = words.trim_words(study.trim, order, site.units)
    return [*blocks, WordsBlock("The last truck", [trim] if trim else [])]


def _cost_row(text: str) -> tuple[str, str]:
    """ "soil: 3 cu yd at 42.00 = 126.00" as what is paid for, and its amount."""
    what, _, amount = text.rpartition(" = ")
    return what, amount


def _right(study: Study) -> list[marks.Block]:
    """Every layer in each measure, the factors between them, and stones."""
    order, site = study.order, study.site
    size = unit_volume(site.units)
    rows = [
        (
            f"{line.name}: {line.comes} to {line.goes}",
            *(f"{v / size:.1f}" for v in (line.bank, line.loose, line.placed)),
        )
        for line in order.ledger
    ]
    rows += [
        (f"{word}: {words.sum_words(side, size)}", "", "", f"{sum(side.values()) / size:.1f}")
        for word, side in zip(("comes", "goes"), sums(order.ledger), strict=True)
    ]
    strong = [False] * len(order.ledger) + [True, True]
    unit = "cu yd" if site.units == "ft" else "m3"
    soils = words.soils_on_the_job(site.soil)
    notes = [f"{words.factor_words(kind, factors)} ({source})." for kind, factors, source in soils]
    causes = words.causes_words(study.order.shares)
    notes += [words.CONVENTION, *([f"What makes the need unsure: {causes}."] if causes else [])]
    stones = walls(site)
    told = [f"{words.stone_words(one, site.units)}." for one in stones]
    return [
        TableBlock(f"Ledger of soil, {unit}", ("", "bank", "loose", "placed"), rows, strong),
        WordsBlock("Factors", notes),
        WordsBlock("Stones for retained edges", [*words.stone_cautions(stones), *told]),
    ]


def _heights(study: Study) -> list[marks.Block]:
    """Lower and higher mounds, each with its order."""
    units: Units = study.site.units
    size = unit_volume(units)
    rows, strong = [], []
    for row in study.heights:
        this = row.scale == study.proposal.height_scale
        strong.append(this)
        rows.append(
            (
                f"{show_length(row.height, units)}{' (held)' if row.held else ''}",
                f"{row.scale:.2f}",
                words.show_quantity(row.order.quantity, units).split(" ")[0],
                f"{row.order.low / size:.1f} to {row.order.high / size:.1f}",
                "–" if row.order.haul.trucks is None else str(row.order.haul.trucks),
            )
        )
    heads = ("top over existing", "times", "order", "90 % range", "trucks")
    table = TableBlock("What if it were lower or higher", heads, rows, tuple(strong))
    held = [f"Held: {words.HELD}"] if any(row.held for row in study.heights) else []
    return [table, WordsBlock("", held)]
