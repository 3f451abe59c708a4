"""The workbook's page of heights: the same mound lower and higher, each with the soil for it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from terrain.files.workbook.book_soil import thin_unit, volume_unit
from terrain.files.workbook.cells import Cell, Page, Row, Style, head, live, text
from terrain.soil.chain import STEPS, formula
from terrain.soil.estimate import Estimate
from terrain.soil.heights import HeightRow
from terrain.units import Units, unit_volume

FIRST = 5  # the row of the lowest height, counted as a workbook counts
SHOWN = ("Expected", "Low", "High", "Soil_order", "Soil_trucks", "Soil_cost")
# Every step of the chain stands in a column of its own, past those that are read.
COLUMNS = ("Scale", "Top", "Held", "Fill_placed", "Planting_layer", *SHOWN, *(s for s in STEPS if s not in SHOWN))
IN_BAGS = "{Soil_order}/Bag*Price_bag"
READ = 5 + len(SHOWN)  # columns that are read; the workings past them are folded away
PRICED = f'IF(Bag*Price_bag>0,{IN_BAGS},IF(Price_soil>0,{{Soil_order}}*Price_soil,""))'


def column(index: int) -> str:
    """Letters of a column, counted from 0."""
    return (chr(64 + index // 26) if index >= 26 else "") + chr(65 + index % 26)


def cells_of(row: int) -> Mapping[str, str]:
    """The cell of every column in a row."""
    return {name: f"{column(index)}{row}" for index, name in enumerate(COLUMNS)}


def heights_page(estimate: Estimate) -> Page:
    """The page "Heights"."""
    units = estimate.study.site.units
    unit, thin = volume_unit(units), thin_unit(units)[0]
    titles = (
        *("times the heights", f"top, {thin}", "", f"fill, {unit} placed", f"planting layer, {unit}"),
        *(f"expected, {unit} loose", "low", "high", f"order, {unit} loose", "trucks", "cost of soil"),
        *(step.replace("_", " ").lower() for step in COLUMNS[READ:]),
    )
    note = "Fill is measured on the surfaces at each height; all else follows from the pages Order and Soil."
    rows = (
        (text("Heights against soil", "title"),),
        (text(note, "note"),),
        (),
        head(*titles),
        *(_row(row, FIRST + k, estimate, units) for k, row in enumerate(estimate.heights)),
    )
    return Page("Heights", (11, 9, 20, *(13.0 for _ in COLUMNS[3:])), rows, READ)


def _row(row: HeightRow, number: int, estimate: Estimate, units: Units) -> Row:
    cells, size = cells_of(number), unit_volume(units)
    this = row.scale == estimate.study.proposal.height_scale
    words = ["this order"] if this else []
    words += ["held by the limits"] if row.held else []
    fixed = {
        "Scale": Cell(row.scale, "factor", strong=this),
        "Top": Cell(row.height / thin_unit(units)[1], "fine", strong=this),
        "Held": text(", ".join(words)),
        "Fill_placed": Cell(row.fill_placed / size, "fine"),
        "Planting_layer": Cell(row.planting_placed / size, "fine"),
    }
    named = {name: Cell(c.content, c.style, name=cells[name], strong=c.strong) for name, c in fixed.items()}
    return tuple({**named, **dict(_live(cells, this))}[name] for name in COLUMNS)


def _live(cells: Mapping[str, str], this: bool) -> Iterator[tuple[str, Cell]]:
    yield "Expected", live(f"MAX(0,{cells['Balance']})", "volume", cells["Expected"], this)
    yield "Soil_cost", live(PRICED.format_map(cells), "money", cells["Soil_cost"], this)
    for step in STEPS:
        style: Style = "count" if step.endswith("trucks") else "fine" if step == "Soil_order" else "volume"
        yield step, live(formula(step, cells), style, cells[step], this and step in SHOWN)
