"""The soil order on one page: what to send to the yard, and what to keep in the job folder."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path

from terrain.soil import words
from terrain.soil.estimate import Estimate
from terrain.soil.stone import walls
from terrain.units import Units, show_length, unit_volume
from viewer.page import marks
from viewer.page.page import Page, new_page
from viewer.page.sheet import MARGIN, page_of_words
from viewer.sheets.order_blocks import HeroBlock, PairsBlock, TableBlock, WordsBlock
from viewer.sheets.order_curve import CurveBlock

GAP = 16.0  # points between blocks, and between the two columns
HEIGHTS = 232.0  # points at the foot for the heights
CAUTION = (
    "Planning figures: swell, shrink, settlement and stone weights are estimates. Order against the supplier's own "
    "figures; locate buried services before any dig."
)


def draw_order(estimate: Estimate, path: Path) -> Path:
    """Write the order as a page of PDF, letter or A4 by the site's units."""
    return order_page(estimate).save(path)


def order_page(estimate: Estimate, paper: str | None = None) -> Page:
    """The page, drawn; `paper` is that of the drawings it goes with, where one was asked for."""
    wide, high = page_of_words(estimate.study.site.units, paper)
    page = new_page(wide, high)
    width, top = wide - 2 * MARGIN, high - MARGIN
    foot = MARGIN + 24.0
    for block in _head(estimate):
        top -= block.draw(page, MARGIN, top, width, top - foot) + GAP
    shelf = foot + HEIGHTS
    _stand(page, [_left(estimate), _right(estimate)], top, shelf, width)
    _stand(page, [_heights(estimate), [CurveBlock(estimate)]], shelf - GAP, foot, width)
    marks.caution_line(page, CAUTION)
    return page


def _stand(page: Page, columns: Sequence[Sequence[marks.Block]], top: float, bottom: float, width: float) -> None:
    """Stand blocks in two columns of equal width, top to bottom."""
    column = (width - GAP) / 2.0
    for number, blocks in enumerate(columns):
        here = top
        for block in blocks:
            used = block.draw(page, MARGIN + number * (column + GAP), here, column, here - bottom)
            here -= used + GAP if used else 0.0


def _head(estimate: Estimate) -> Iterator[marks.Block]:
    """Title and the figure that matters."""
    what_if = words.what_if_words(estimate)
    drawing = f"Soil order. What if: {what_if}" if what_if else "Soil order"
    remark = "Volumes in cubic yards." if estimate.study.site.units == "ft" else "Volumes in cubic metres."
    yield marks.TitleBlock(estimate.study.site.name, drawing, remark)
    yield HeroBlock(estimate)


def _left(estimate: Estimate) -> list[marks.Block]:
    """How it comes and what it costs."""
    order, site = estimate.order, estimate.study.site
    blocks: list[marks.Block] = [PairsBlock("How it comes", list(words.fact_words(estimate)))]
    if order.cost is not None:
        lines = [_cost_row(words.cost_words(line, site.units)) for line in order.costs]
        blocks.append(marks.FactsBlock("Cost", [*lines, ("total", words.money(order.cost))]))
    return blocks


def _cost_row(text: str) -> tuple[str, str]:
    """ "soil: 3 cu yd at 42.00 = 126.00" as what is paid for, and its amount."""
    what, _, amount = text.rpartition(" = ")
    return what, amount


def _right(estimate: Estimate) -> list[marks.Block]:
    """Every layer in each measure, the factors between them, and stones."""
    order, site = estimate.order, estimate.study.site
    size = unit_volume(site.units)
    rows = [
        (f"{layer.name}, {layer.moves}", *(_volume(v, size) for v in (layer.bank, layer.loose, layer.placed)))
        for layer in order.layers
    ]
    unit = "cu yd" if site.units == "ft" else "m3"
    soils = words.soils_on_the_job(site.soil)
    notes = [f"{words.factor_words(kind, factors)} ({source})." for kind, factors, source in soils]
    causes = words.causes_words(estimate.study.work.import_shares)
    notes += [words.CONVENTION, *([f"What makes the need unsure: {causes}."] if causes else [])]
    stones = walls(site)
    told = [f"{words.stone_words(one, site.units)}." for one in stones]
    return [
        TableBlock(f"Layers, {unit}", ("", "bank", "loose", "placed"), rows),
        WordsBlock("Factors", notes),
        WordsBlock("Stones for retained edges", [*words.stone_cautions(stones), *told]),
    ]


def _volume(value: float | None, size: float) -> str:
    return "–" if value is None else f"{value / size:.1f}"


def _heights(estimate: Estimate) -> list[marks.Block]:
    """Lower and higher mounds, each with its order."""
    units: Units = estimate.study.site.units
    size = unit_volume(units)
    rows, strong = [], []
    for row in estimate.heights:
        this = row.scale == estimate.study.proposal.height_scale
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
    held = [f"Held: {words.HELD}"] if any(row.held for row in estimate.heights) else []
    return [table, WordsBlock("", held)]
