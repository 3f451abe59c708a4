"""Cells of a workbook before they are written: text, figures to change, and formulas with the value they give now."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from typing import Literal

from terrain.numerics import Formula, Values, written

Style = Literal["title", "note", "head", "text", "none", "volume", "fine", "factor", "share", "count", "money"]


def book_name(name: str) -> str:
    """How the workbook calls a name of the chain: "fill_placed" is "Fill_placed"."""
    return name[:1].upper() + name[1:]


@dataclass(frozen=True)
class Cell:
    """One cell.

    Parameters
    ----------
    content
        A text or a figure, with a formula the figure that it gives now; None for a figure that is left open, and where
        the formula is worked from the named cells of the workbook.
    style
        How it is shown.
    formula
        How it follows from other cells, by their names.
    name
        The name that formulas know it by; no name: nothing refers to it.
    given
        True for a figure that a person may change.
    strong
        True for the figures that matter most.
    names
        What stands for a name in the formula as written.
    """

    content: str | float | None = None
    style: Style = "text"
    formula: Formula | None = None
    name: str = ""
    given: bool = False
    strong: bool = False
    names: Callable[[str], str] = book_name

    @property
    def written(self) -> str:
        """The formula as the workbook has it, without its "="; "" where there is none."""
        return "" if self.formula is None else written(self.formula, self.names)


Row = tuple[Cell, ...]


@dataclass(frozen=True)
class Worksheet:
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


def figure(label: str, cell: Cell, unit: str = "", note: str = "") -> Row:
    """A figure with its name, its unit, and what it means or where it comes from."""
    return text(label), cell, text(unit), text(note, "note")


def head(*words: str) -> Row:
    """A row of column headings."""
    return tuple(text(word, "head") for word in words)


def given(name: str, figure: float | None, style: Style) -> Cell:
    """A figure that a person may change, or may fill in."""
    return Cell(figure, style, name=name, given=True)


def live(formula: Formula, style: Style, name: str = "", strong: bool = False) -> Cell:
    """A figure that follows from others."""
    return Cell(None, style, formula, name, strong=strong)


def all_cells(pages: Iterable[Worksheet]) -> Iterator[Cell]:
    """Every cell of every page."""
    for page in pages:
        for row in page.rows:
            yield from row


def values_of(pages: Iterable[Worksheet]) -> Values:
    """The values of the named cells of some pages; an open figure counts as nothing, as in a workbook."""
    figures: dict[str, float] = {}
    formulas: dict[str, Formula] = {}
    for cell in all_cells(pages):
        if not cell.name:
            continue
        assert cell.name not in {*figures, *formulas}, cell.name
        if cell.formula is None:
            assert not isinstance(cell.content, str)
            figures[cell.name] = cell.content or 0.0
        else:
            formulas[cell.name] = cell.formula
    return Values(figures, formulas)
