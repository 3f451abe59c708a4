"""What every report on the terminal shares: one console, and labels beside their words."""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from typing import Any

import click
from rich.console import Console, ConsoleOptions, RenderableType
from rich.segment import Segment
from rich.table import Table
from rich.text import Text

from terrain.in_one_piece import in_one_piece

Line = tuple[str, str | Text]

# Within a measure ("10.0 cu yd", "2 ft 4 1/2 in") no line ends. The screen's library breaks lines at every blank there
# is, the one that holds words together too; so a sign for private use stands in its place until lines are broken.
_HELD = "\ue000"


class _Measured(Console):
    """A console that breaks no measure, wherever it stands: in a line, or in a cell of a table."""

    def render(self, renderable: RenderableType, options: ConsoleOptions | None = None) -> Iterable[Segment]:
        """As the library has it."""
        return super().render(_held_together(renderable) if isinstance(renderable, Text) else renderable, options)

    def render_str(self, text: str, **how: Any) -> Text:
        """As the library has it, by which a column is measured too."""
        return _held_together(super().render_str(text, **how))


@contextmanager
def on_terminal() -> Iterator[Console]:
    """Give a console, as wide as the terminal is; what it is told stands on standard output when the block ends."""
    # Who wants no colour wants no other signs of the terminal's either, whatever else is set (no-color.org).
    plain = False if os.environ.get("NO_COLOR") else None
    console = _Measured(highlight=False, emoji=False, markup=False, force_terminal=plain)
    with console.capture() as printed:
        yield console
    # Table cells are padded to the width of the screen; blanks at line ends only spoil what is copied.
    lines = printed.get().replace(_HELD, " ").rstrip().splitlines()
    click.echo("\n".join(line.rstrip() for line in lines), color=True)


def labelled(lines: Iterable[Line]) -> Table:
    """Labels in bold, each beside its words."""
    grid = Table.grid(padding=(0, 2, 0, 0))
    grid.add_column(no_wrap=True)
    grid.add_column(overflow="fold")
    for label, text in lines:
        grid.add_row(Text(label, style="bold"), _held_together(text if isinstance(text, Text) else Text(text)))
    return grid


def _held_together(text: Text) -> Text:
    """The text with its measures in one piece."""
    held = text.copy()
    held.plain = in_one_piece(text.plain, _HELD)
    return held
