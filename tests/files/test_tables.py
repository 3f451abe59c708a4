"""Every table that is written goes through one function: header first, figures as figures, no text that could run."""

from __future__ import annotations

import ast
import csv
import io
from pathlib import Path

import pandas
import pytest
from hypothesis import example, given, strategies as st

from terrain.tables import csv_text, guarded

# How a cell begins that a spreadsheet runs: OWASP, "CSV Injection",
# https://owasp.org/www-community/attacks/CSV_Injection (from memory, not read again): = + - @ tab, return, full width.
FORMULAS = ["=1+1", "+1 ft", "-2+3", "@SUM(A1)", "\t=1", "\r=1", "\n@x", "＝1", "＋1", "－1", "＠x"]
FORMULAS += [" =1", "\u200b=1", "\ufeff=1"]  # a mark without ink before it
FIGURES = ["-0.25", "+3", "12", "1e-3", "-.5", "7."]


@pytest.mark.parametrize("text", FORMULAS)
def test_what_could_run_is_led_by_an_apostrophe(text: str) -> None:
    (_, (cell,)) = list(csv.reader(io.StringIO(csv_text(["name"], [[text]]), newline="")))
    assert cell.startswith("'")
    assert guarded(cell) == cell


@pytest.mark.parametrize("text", FIGURES)
def test_figures_stay_figures(text: str) -> None:
    read = pandas.read_csv(io.StringIO(csv_text(["value", "other"], [[text, float(text)]])))
    assert read["value"][0] == read["other"][0] == float(text)


@given(st.lists(st.lists(st.text(), min_size=2, max_size=2), min_size=1, max_size=5))
@example([["", "\U000101fe@"]])  # a mark that Unicode has not assigned becomes a blank
def test_any_texts_keep_their_cells(rows: list[list[str]]) -> None:
    text = csv_text(["a", "b"], rows)
    found = list(csv.reader(io.StringIO(text, newline="")))
    assert len(found) == len(rows) + 1
    assert all(len(row) == 2 for row in found)
    for cell in (cell for row in found[1:] for cell in row):
        assert not cell.lstrip().startswith(("=", "@", "＝", "＋", "－", "＠"))
        assert not any(mark in cell for mark in "\r\n\t\0")
        if cell.startswith(("+", "-")):
            assert isinstance(float(cell), float)


def test_a_row_of_another_length_is_a_fault() -> None:
    with pytest.raises(ValueError, match="1 cells under 2 heads"):
        csv_text(["a", "b"], [["1"]])


def test_no_other_module_writes_a_table(root: Path) -> None:
    writers = {
        path.relative_to(root).as_posix()
        for package in ("terrain", "viewer", "cli")
        for path in (root / package).rglob("*.py")
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.Attribute) and node.attr in ("writer", "DictWriter", "to_csv", "savetxt")
    }
    assert writers == {"terrain/tables.py"}
