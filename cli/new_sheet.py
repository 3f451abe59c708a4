"""`hummock new --sheet`: the workbook of a yard, and the same form to print."""

from __future__ import annotations

import csv
import tomllib
from collections.abc import Mapping
from pathlib import Path

from cli.folder import refuse_unusable, results_in
from cli.loudness import say
from cli.new_files import refuse_to_overwrite
from terrain.errors import InputError
from terrain.files import write_yard_book, yard_figures
from terrain.units import Units
from viewer.sheets import draw_form


def write_sheet(path: Path, starter: Mapping[str, bytes], units: Units) -> None:
    """Write a workbook with the starter's invented yard, and beside it the empty form; nothing is overwritten.

    Raises
    ------
    InputError
        For a name that does not end in .xlsx.
    """
    if path.suffix.lower() != ".xlsx":
        raise InputError(f"--sheet {path}", "a workbook's name ends in .xlsx.", "Such as yard.xlsx.")
    form = path.with_name(f"{path.stem}-form.pdf")
    refuse_unusable(path.parent)
    refuse_to_overwrite(path.parent, [path.name, form.name])
    fields = tomllib.loads(starter["site.toml"].decode("utf-8"))
    figures = yard_figures(fields, _rows(starter["shots.csv"]), _rows(starter["bed.csv"]), units)
    with results_in(path.parent) as aside:
        write_yard_book(figures, aside / path.name)
        draw_form(units, aside / form.name)
    say(f"Wrote {path.name} (four tabs, with an invented yard) and {form.name} (to print) in {path.parent}.")
    say(f"Next: put your own figures in, save, then: hummock shape {path}")


def _rows(table: bytes) -> list[list[str]]:
    """The rows of a table of the starter under its heads, remarks left out."""
    lines = [line for line in table.decode("utf-8").splitlines() if line and not line.startswith("#")]
    return list(csv.reader(lines))[1:]
