"""The workbook's page of heights: the same mound lower and higher, each with the soil for it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from terrain.files.workbook.book_soil import thin_unit, volume_unit
from terrain.files.workbook.cells import Cell, Row, Style, Worksheet, book_name, head, text
from terrain.flow import Study
from terrain.numerics import Figure, Formula, either
from terrain.soil import JOBS, LINES, SCORES, HeightRow, evaluated, given_in_units, volumes_given
from terrain.units import unit_volume

FIRST = 5  # the row of the lowest height, counted as a workbook counts
MEASURED = ("fill_placed", "rise", "planting_layer")  # what the surfaces of each height hold
SHOWN = ("expected", "low", "high", "soil_order", "soil_trucks", "soil_cost")
# Every line of the chain that depends on the height stands in a column of its own, past those that are read.
WORKINGS = tuple(name for name, line in LINES.items() if not line.shared and name not in SHOWN)
# What is given for each height and not read: its own toe, and the jobs that were drawn for it.
OF_EACH = ("toe_deviation", *JOBS)
COLUMNS = ("scale", "top", "held", *MEASURED, *SHOWN, *WORKINGS, *OF_EACH)
READ = 6 + len(SHOWN)  # columns that are read; the workings past them are folded away


def column(index: int) -> str:
    """Letters of a column, counted from 0."""
    return (chr(64 + index // 26) if index >= 26 else "") + chr(65 + index % 26)


def cells_of(row: int) -> Mapping[str, str]:
    """The cell of every column in a row."""
    return {name: f"{column(index)}{row}" for index, name in enumerate(COLUMNS)}


def heights_page(study: Study) -> Worksheet:
    """The page "Heights"."""
    units = study.site.units
    unit, thin = volume_unit(units), thin_unit(units)[0]
    titles = (
        *("times the heights", f"top, {thin}", "", f"fill, {unit} placed", "of it over the ground", "planting layer"),
        *(f"expected, {unit} loose", "low", "high", f"order, {unit} loose", "trucks", "cost of soil"),
        *(LINES[name].label.lower() for name in WORKINGS),
        *("toe not cut", *(f"drawn jobs at {score:.2f}" for score in SCORES)),
    )
    note = "Fill is measured on the surfaces at each height; all else follows from the pages Order and Soil."
    rows = (
        (text("Heights against soil", "title"),),
        (text(note, "note"),),
        (),
        head(*titles),
        *(_row(row, FIRST + k, study) for k, row in enumerate(study.heights)),
    )
    return Worksheet("Heights", (11, 9, 20, *(13.0 for _ in COLUMNS[3:])), rows, READ)


def _row(row: HeightRow, number: int, study: Study) -> Row:
    units = study.site.units
    this = row.scale == study.proposal.height_scale
    words = ["this order"] if this else []
    words += ["held by the limits"] if row.limited else []
    fixed = {
        "scale": Cell(row.scale, "factor", strong=this),
        "top": Cell(row.height / thin_unit(units)[1], "fine", strong=this),
        "held": text(", ".join(words)),
    }
    measured = volumes_given(row.volumes)
    for name in MEASURED:
        fixed[name] = Cell(measured[name] / unit_volume(units), "fine")
    for name in OF_EACH:
        own = row.order.jobs.get(name)
        fixed[name] = Cell(measured[name] / unit_volume(units) if own is None else own, "factor")
    cells = {**fixed, **dict(_live(row, number, study, this))}
    return tuple(cells[name] for name in COLUMNS)


def _live(row: HeightRow, number: int, study: Study, this: bool) -> Iterator[tuple[str, Cell]]:
    cells, prices, size = cells_of(number), study.order.prices, unit_volume(study.site.units)
    v = evaluated(
        {
            **given_in_units(row.order.given, study.site.units),
            **row.order.jobs,
            "price_soil": (prices.soil or 0.0) * size,
            "price_bag": prices.bag or 0.0,
        }
    )

    def name_of(name: str) -> str:
        return cells.get(name, book_name(name))

    def cell(formula: Formula, style: Style, strong: bool = False) -> Cell:
        return Cell(float(v.of(formula)), style, formula, strong=strong, names=name_of)

    yield "soil_cost", cell(_soil_cost, "money", this)
    for name in (*SHOWN[:-1], *WORKINGS):
        style: Style = "count" if LINES[name].measure == "count" else "fine" if name == "soil_order" else "volume"
        yield name, cell(LINES[name].formula, style, this and name in SHOWN)


def _soil_cost(v: Figure) -> Figure:
    in_bags = v.bag * v.price_bag > 0
    return either(in_bags, v.soil_order / v.bag * v.price_bag, v.soil_order * v.price_soil)
