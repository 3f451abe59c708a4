"""Two site files on the terminal: what differs in soil, height, trees and money, and why."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from rich.console import RenderableType
from rich.table import Table
from rich.text import Text

from cli.terminal import on_terminal
from terrain.against import Against, ComparedFigure
from terrain.soil import words
from terrain.units import Units, show_length, unit_volume


def print_against(against: Against, units: Units, other: str) -> None:
    """Print the comparison on standard output; `other` names what this is set against."""
    with on_terminal() as console:
        for part in _parts(against, units, other):
            console.print(part)


def _parts(against: Against, units: Units, other: str) -> Iterator[RenderableType]:
    yield Text(f"\nAgainst {other}", style="bold")
    yield _table(against, units)
    for reason in against.reasons:
        yield Text(f"  {_signed(reason.soil / unit_volume(units))} {_unit(units)} by {reason.why}")
    for pair in against.prices:
        if pair.this and pair.other:
            change = 100.0 * (pair.this / pair.other - 1.0)
            yield Text(f"  the price of {pair.what} is {abs(change):.1f} % {'higher' if change > 0 else 'lower'}")


def _table(against: Against, units: Units) -> Table:
    table = Table(box=None, padding=(0, 2, 0, 0), header_style="dim")
    table.add_column("", overflow="fold")
    for head in ("there", "here", "change"):
        table.add_column(head, justify="right")
    size, unit = unit_volume(units), _unit(units)
    _row(table, against.soil, lambda value: f"{value / size:.2f} {unit}", size)
    _row(table, against.height, lambda value: show_length(value, units), None)
    for pair in against.trees:
        share = "share" in pair.what
        _row(table, pair, (lambda v: f"{100.0 * v:.0f} %") if share else (lambda v: show_length(v, units)), None)
    for pair in against.money:
        _row(table, pair, words.money, 1.0)
    return table


def _row(table: Table, pair: ComparedFigure, show: Callable[[float], str], size: float | None) -> None:
    """One figure of both; its change in units of `size`, or in a word."""
    change = ""
    if pair.this is not None and pair.other is not None:
        more = pair.this - pair.other
        alike = show(pair.this) == show(pair.other)
        change = _signed(more / size) if size else "same" if alike else "higher" if more > 0 else "lower"
    shown = ["-" if value is None else show(value) for value in (pair.other, pair.this)]
    table.add_row(pair.what, *shown, change)


def _signed(value: float) -> str:
    return "same" if abs(value) < 0.005 else f"{value:+,.2f}"


def _unit(units: Units) -> str:
    return "cu yd" if units == "ft" else "m3"
