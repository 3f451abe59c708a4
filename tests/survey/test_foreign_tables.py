"""Thirty tables by other hands: each is read right, or refused with what every column was taken for."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import openpyxl
import pytest
import xlsxwriter
from foreign_tables import TABLES, YARD, by_openpyxl

from terrain.errors import InputError
from terrain.survey.measured import Measured, ReadOptions
from terrain.survey.readers.read import read_measured

pytestmark = pytest.mark.usefixtures("forked_readers")
NEAR = 1e-9  # metres


def test_there_are_thirty() -> None:
    assert len(TABLES) >= 30


def read(path: Path, units: str = "m") -> Measured:
    return read_measured(path, path.name, ReadOptions(units, units))  # type: ignore[arg-type]


@pytest.mark.parametrize("name", TABLES)
def test_it_is_read_right_or_asked_about(name: str, tmp_path: Path) -> None:
    file, write, units, words = TABLES[name]
    write(tmp_path / file)
    if words:
        with pytest.raises(InputError) as fault:
            read(tmp_path / file, units)
        assert words in str(fault.value)
        assert str(fault.value).startswith(file)
        return
    measured = read(tmp_path / file, units)
    assert np.abs(measured.shots - np.array([row[1:4] for row in YARD])).max() < NEAR
    if any(measured.names):
        assert measured.names == tuple(row[0] for row in YARD)
    if any(measured.codes):
        assert measured.codes == tuple(row[4] for row in YARD)


def test_a_cell_that_is_no_length_is_named_as_the_spreadsheet_names_it(tmp_path: Path) -> None:
    by_openpyxl(tmp_path / "s.xlsx", "Point|East|North|Elevation|Code", tab="Shots", above=[["yard"]])
    book = openpyxl.load_workbook(tmp_path / "s.xlsx")
    book["Shots"]["D5"] = "wet"
    book.save(tmp_path / "s.xlsx")
    with pytest.raises(InputError, match=r's\.xlsx Shots D5: "wet" is not a length'):
        read(tmp_path / "s.xlsx")


def test_a_formula_without_its_result_is_no_figure(tmp_path: Path) -> None:
    by_openpyxl(tmp_path / "s.xlsx", "Point|East|North|Elevation|Code")
    book = openpyxl.load_workbook(tmp_path / "s.xlsx")
    book.active["D4"] = "=30+0.71"
    book.save(tmp_path / "s.xlsx")
    with pytest.raises(InputError, match=r's\.xlsx Sheet D4: the formula "=30\+0\.71" has no result in the file'):
        read(tmp_path / "s.xlsx")


def test_two_tabs_that_would_do_are_asked_about_unless_one_is_called_shots(tmp_path: Path) -> None:
    for names, right in ((("May", "June"), False), (("May", "shots"), True)):
        book = xlsxwriter.Workbook(str(tmp_path / "s.xlsx"))
        for name in names:
            sheet = book.add_worksheet(name)
            sheet.write_row(0, 0, ["x", "y", "z"])
            for j, row in enumerate(YARD, start=1):
                sheet.write_row(j, 0, [*row[1:3], row[3] + (0.0 if name == names[1] else 1.0)])
        book.close()
        if right:
            assert read(tmp_path / "s.xlsx").shots[0, 2] == pytest.approx(YARD[0][3], abs=NEAR)
        else:
            with pytest.raises(InputError, match='the tabs "May", "June" all have the heads that are looked for'):
                read(tmp_path / "s.xlsx")
