"""Cells of a workbook before they are written: text, figures to change, and formulas with the value they give now."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Literal

from terrain.files.workbook.arithmetic import Value, worked

Style = Literal["title", "note", "head", "text", "none", "volume", "fine", "factor", "share", "count", "money"]


@dataclass(frozen=True)
class Cell:
    """One cell.

    Parameters
    ----------
    content
        A text or a figure; None with a formula, or for a figure that is left open.
    style
        How it is shown.
    formula
        The formula, without its "=", in the names of other cells.
    name
        The name that formulas know it by; no name: nothing refers to it.
    given
        True for a figure that a person may change.
    strong
        True for the figures that matter most.
    """

    content: str | float | None = None
    style: Style = "text"
    formula: str = ""
    name: str = ""
    given: bool = False
    strong: bool = False


Row = tuple[Cell, ...]


@dataclass(frozen=True)
class Page:
    """One sheet of the workbook: its name, the widths of its columns in characters, and its rows.

    Columns from `folded` on hold workings that nobody reads at first; None: there are none.
    """

    title: str
    widths: tuple[float, ...]
    rows: tuple[Row, ...]
    folded: int | None = None


def text(words: str, style: Style = "text", strong: bool = False) -> Cell:
    """A cell of words."""
    return Cell(words, style, strong=strong)


def head(*words: str) -> Row:
    """A row of column headings."""
    return tuple(text(word, "head") for word in words)


def given(name: str, figure: float | None, style: Style) -> Cell:
    """A figure that a person may change, or may fill in."""
    return Cell(figure, style, name=name, given=True)


def live(formula: str, style: Style, name: str = "", strong: bool = False) -> Cell:
    """A figure that follows from others."""
    return Cell(None, style, formula, name, strong=strong)


@dataclass
class Values:
    """The value of every named cell, worked when it is first asked for."""

    named: Mapping[str, Cell]
    known: dict[str, Value] = field(default_factory=dict)

    def look(self, name: str) -> Value:
        """The value of a name; an open figure counts as nothing, as in a workbook."""
        if name not in self.known:
            self.known[name] = self.of(self.named[name])
        return self.known[name]

    def of(self, cell: Cell) -> Value:
        """The value that a cell shows."""
        if cell.formula:
            return worked(cell.formula, self.look)
        return 0.0 if cell.content is None else cell.content


def all_cells(pages: Iterable[Page]) -> Iterator[Cell]:
    """Every cell of every page."""
    for page in pages:
        for row in page.rows:
            yield from row


def values_of(pages: Iterable[Page]) -> Values:
    """The values of some pages that refer to each other."""
    named = {}
    for cell in all_cells(pages):
        if cell.name:
            assert cell.name not in named, cell.name
            named[cell.name] = cell
    return Values(named)
