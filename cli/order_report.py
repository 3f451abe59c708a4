"""The order on the terminal: what to buy and how sure, how it comes, what it costs, and other heights beside it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path

from rich.console import RenderableType
from rich.table import Table
from rich.text import Text

from cli.report import STYLES, ground_lines, shown_names, shown_path, unmet_lines
from cli.terminal import Line, labelled, on_terminal
from terrain.flow import Study
from terrain.soil import ledger_rows, top_height, walls, what_if_words, words
from terrain.suggest import taken_words
from terrain.units import show_length, unit_volume

NARROW = 60  # columns below which the tables leave out what is told elsewhere


def print_order(study: Study, names: Sequence[str], folder: Path, *, from_outline: bool = False) -> None:
    """Print the order on standard output, in the site's own units, as wide as the terminal is.

    `from_outline`: with what was taken for granted where an outline is all that is known.
    """
    with on_terminal() as console:
        for part in _parts(study, names, folder, console.width < NARROW):
            console.print(part)
        if from_outline:
            console.print(labelled([("Assumed", taken_words(study.site))]))


def _parts(study: Study, names: Sequence[str], folder: Path, narrow: bool) -> Iterator[RenderableType]:
    yield Text(study.site.name, style="bold")
    what_if = what_if_words(study.site, study.proposal, study.asked)
    if what_if:
        yield Text(f"What if: {what_if}", style="bold yellow")
    yield labelled([*ground_lines(study), *_order_lines(study), *unmet_lines(study)])
    yield Text(f"\nLedger of soil, {_unit(study)}", style="bold")
    yield _ledger(study)
    yield Text(f"\nHeights against soil, {_unit(study)} loose", style="bold")
    yield _heights(study, narrow)
    yield Text("")
    yield labelled(_closing_lines(study, names, folder))


def _unit(study: Study) -> str:
    return "cu yd" if study.site.units == "ft" else "m3"


def _labelled(label: str, texts: Sequence[str]) -> Iterator[Line]:
    """A label once for the lines that belong together; nothing without lines."""
    for number, text in enumerate(texts):
        yield "" if number else label, text


def _order_lines(study: Study) -> Iterator[Line]:
    order, site = study.order, study.site
    units = site.units
    bought = [(item.name, words.item_words(item, units)) for item in order.soils]
    if not bought:
        yield "Order", Text("no soil", style="bold")
    for number, (name, text) in enumerate(bought):
        yield "" if number else "Order", Text.assemble((text, "bold"), f" of {name} ({site.soil.kind})")
    yield from (("", text) for text in words.sure_words(order, units))
    yield from _labelled("Beside it", [f"{words.item_words(item, units)} of {item.name}" for item in order.covers])
    yield from ((what.capitalize(), text) for what, text in words.fact_words(site, order, top_height(study.proposal)))
    trim = words.trim_words(study.trim, order, units)
    if trim:
        yield "Last truck", trim
    yield from _cost_lines(study)
    stones = walls(site)
    yield from _labelled("Stones", [words.stone_words(one, units) for one in stones] + words.stone_cautions(stones))


def _cost_lines(study: Study) -> Iterator[Line]:
    order, units = study.order, study.site.units
    if order.cost is None:
        return
    yield "Cost", Text(words.money(order.cost), style="bold")
    for line in order.costs:
        yield "", words.cost_words(line, units)
    left_out = words.left_out_words(order)
    if left_out:
        yield "", left_out


def _table(*heads: str) -> Table:
    """A plain table, its first column words and the others figures."""
    table = Table(box=None, padding=(0, 2, 0, 0), header_style="dim")
    table.add_column(heads[0], overflow="fold")
    for head in heads[1:]:
        table.add_column(head, justify="right", overflow="fold")
    return table


def _ledger(study: Study) -> Table:
    """Every soil from where to where in each measure, and the two sums, which are one."""
    table = _table("", "bank", "loose", "placed")
    for row in ledger_rows(study.order.ledger, study.site.units):
        table.add_row(*row)
    return table


def _heights(study: Study, narrow: bool) -> Table:
    """Lower and higher mounds; a narrow screen shows no range."""
    units = study.site.units
    size = unit_volume(units)
    table = _table("top", "times", "order", *(() if narrow else ("90 % range",)), "trucks", "")
    for row in study.heights:
        order = row.order
        this = row.scale == study.proposal.height_scale
        mark = "this order" if this else "held" if row.limited else ""
        table.add_row(
            show_length(row.height, units),
            f"{row.scale:.2f}",
            words.show_quantity(order.quantity, units).split(" ")[0],
            *(() if narrow else (f"{order.low / size:.1f} to {order.high / size:.1f}",)),
            "-" if order.haul.trucks is None else str(order.haul.trucks),
            mark,
            style="bold" if this else "",
        )
    return table


def _closing_lines(study: Study, names: Sequence[str], folder: Path) -> Iterator[Line]:
    if any(row.limited for row in study.heights):
        yield "Held", words.HELD
    for name, factors, source in words.soils_on_the_job(study.site.soil):
        yield "Factors", f"{words.factor_words(name, factors)} ({source})"
    yield "", words.CONVENTION
    yield "Unsure", words.causes_words(study.order.shares)
    yield from (("", text) for text in words.doubt_words(study.order, study.site.units))
    stops = [finding for finding in study.review.findings if finding.level == "stop"]
    for finding in stops:
        yield "Stop", Text(finding.text, STYLES["stop"])
    rest = len(study.review.findings) - len(stops)
    if rest:
        yield "Review", f"{rest} cautions and notes in order.json; hummock shape tells them."
    yield "Files", f"in {shown_path(folder)}: {shown_names(tuple(names))}"
