"""What every report on the terminal shares: one console, and labels beside their words."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import contextmanager

import click
from rich.console import Console
from rich.table import Table
from rich.text import Text

Line = tuple[str, str | Text]


@contextmanager
def on_terminal() -> Iterator[Console]:
    """Give a console, as wide as the terminal is; what it is told stands on standard output when the block ends."""
    console = Console(highlight=False, emoji=False, markup=False)
    with console.capture() as printed:
        yield console
    # Table cells are padded to the width of the screen; blanks at line ends only spoil what is copied.
    click.echo("\n".join(line.rstrip() for line in printed.get().rstrip().splitlines()), color=True)


def labelled(lines: Iterable[Line]) -> Table:
    """Labels in bold, each beside its words."""
    grid = Table.grid(padding=(0, 2, 0, 0))
    grid.add_column(no_wrap=True)
    grid.add_column(overflow="fold")
    for label, text in lines:
        grid.add_row(Text(label, style="bold"), text if isinstance(text, Text) else Text(text))
    return grid
