"""Tables of shots as thirty other hands write them, each with the ten shots of one invented yard.

They are written by three libraries for workbooks and by hand, never by the tool's own writers. Coordinates are metres
or feet as the table says; `SHOTS` has them in metres.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import openpyxl
import pandas
import xlsxwriter

FOOT = 0.3048
# Point, easting, northing, elevation (m), what was shot.
YARD: tuple[tuple[str, float, float, float, str], ...] = (
    ("1", 0.0, 0.0, 30.12, "corner"),
    ("2", 12.0, 0.0, 30.25, "kerb"),
    ("3", 12.0, 9.0, 30.71, "grass"),
    ("4", 0.0, 9.0, 30.64, "corner"),
    ("5", 6.0, 4.5, 30.5, "grass"),
    ("6", 3.0, 2.25, 30.31, "grass"),
    ("7", 9.0, 6.75, 30.66, "grass"),
    ("8", 3.0, 6.75, 30.49, "path"),
    ("9", 9.0, 2.25, 30.38, "grass"),
    ("10", 6.0, 8.0, 30.63, "grass"),
)
Row = Sequence[Any]


def plain(row: tuple[str, float, float, float, str], order: str = "pxyzc") -> list[str]:
    return [str(row["pxyzc".index(key)]) for key in order]


def delimited(path: Path, heads: str, order: str = "pxyzc", mark: str = ",", **how: str) -> None:
    """Rows by hand: any delimiter, decimal mark, end of lines, encoding and lines above."""
    lines = [mark.join(heads.split("|"))]
    lines += [mark.join(cell.replace(".", how.get("decimal", ".")) for cell in plain(row, order)) for row in YARD]
    text = how.get("above", "") + how.get("end", "\n").join(lines) + how.get("below", "\n")
    path.write_bytes(text.encode(how.get("encoding", "utf-8")))


def by_openpyxl(path: Path, heads: str, order: str = "pxyzc", above: Sequence[Row] = (), tab: str = "Sheet") -> None:
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.title = tab
    for row in above:
        sheet.append(list(row))
    sheet.append(heads.split("|"))
    for row in YARD:
        sheet.append([row["pxyzc".index(key)] for key in order])
    book.save(path)


def by_xlsxwriter(path: Path, heads: str, order: str = "pxyzc", first: tuple[int, int] = (0, 0)) -> None:
    book = xlsxwriter.Workbook(str(path))
    sheet = book.add_worksheet("Survey 2026")
    for i, head in enumerate(heads.split("|")):
        sheet.write(first[0], first[1] + i, head)
    for j, row in enumerate(YARD, start=1):
        for i, key in enumerate(order):
            sheet.write(first[0] + j, first[1] + i, row["pxyzc".index(key)])
    book.close()


def by_pandas(path: Path, heads: str, order: str = "pxyzc", index: bool = False, text: bool = False) -> None:
    rows = [[row["pxyzc".index(key)] for key in order] for row in YARD]
    frame = pandas.DataFrame(rows, columns=heads.split("|"))
    if text:
        frame = frame.astype(str).apply(lambda column: column.str.replace(".", ",", regex=False))
    frame.to_excel(path, index=index)


def formulas(path: Path) -> None:
    """A sheet that works elevations out from rod readings, saved with the results, as spreadsheets save."""
    book = xlsxwriter.Workbook(str(path))
    sheet = book.add_worksheet("levels")
    sheet.write_row(0, 0, ["Shot", "East", "North", "HI", "Rod", "Elevation"])
    for j, (name, x, y, z, _) in enumerate(YARD, start=1):
        sheet.write_row(j, 0, [name, x, y, 32.0, 32.0 - z])
        sheet.write_formula(j, 5, f"=D{j + 1}-E{j + 1}", None, z)
    book.close()


def two_tabs(path: Path) -> None:
    """The shots on the second tab, remarks on the first, a list that is hidden on the third."""
    book = openpyxl.Workbook()
    book.active.title = "Read me"
    book.active.append(["Levels taken on", datetime.date(2026, 5, 4)])
    sheet = book.create_sheet("Levels")
    sheet.append(["Pt", "Easting (m)", "Northing (m)", "Level (m)", "Remarks"])
    for row in YARD:
        sheet.append(list(row))
    hidden = book.create_sheet("old")
    hidden.append(["Pt", "Easting", "Northing", "Level"])
    hidden.append(["1", 0, 0, 99])
    hidden.sheet_state = "hidden"
    book.save(path)


def in_feet(path: Path) -> None:
    rows = [[p, x / FOOT, y / FOOT, z / FOOT, c] for p, x, y, z, c in YARD]
    frame = pandas.DataFrame(rows, columns=["Point #", "East (ft)", "North (ft)", "Elev. (ft)", "Desc."])
    frame.to_excel(path, index=False)


def logger_rows(path: Path, order: str) -> None:
    """What loggers send: no heads."""
    path.write_text("\n".join(",".join(plain(row, order)) for row in YARD) + "\n", encoding="ascii")


Write = Callable[[Path], None]
# Name of the file, who writes it, the site's units, and words of the refusal where it must be asked about ("": read).
TABLES: dict[str, tuple[str, Write, str, str]] = {
    "comma, point first": ("s.csv", lambda p: delimited(p, "Point|Easting|Northing|Elevation|Code"), "m", ""),
    "northing first": ("s.csv", lambda p: delimited(p, "PtNo|N|E|Z|Desc", "pyxzc"), "m", ""),
    "elevation first": ("s.csv", lambda p: delimited(p, "Z|Y|X|Name", "zyxp"), "m", ""),
    "semicolons and decimal commas": (
        "s.csv",
        lambda p: delimited(p, "Punkt;Rechtswert;Hochwert;Höhe;Code".replace(";", "|"), mark=";", decimal=","),
        "m",
        "",
    ),
    "the same in Latin-1": (
        "s.txt",
        lambda p: delimited(p, "Punktnr.|Rechtswert|Hochwert|Höhe|Bemerkung", mark=";", decimal=",", encoding="cp1252"),
        "m",
        "",
    ),
    "French heads": ("s.csv", lambda p: delimited(p, "N°|Est|Nord|Altitude|Code", mark=";", decimal=","), "m", ""),
    "Spanish heads": ("s.csv", lambda p: delimited(p, "Punto|Este|Norte|Cota|Descripción"), "m", ""),
    "tabs of two bytes": (
        "s.txt",
        lambda p: delimited(p, "Point ID|East|North|Height|Feature", mark="\t", encoding="utf-16", end="\r\n"),
        "m",
        "",
    ),
    "a spreadsheet's word and byte-order mark": (
        "s.csv",
        lambda p: delimited(p, "pt|x|y|z|code", mark=";", above="\ufeffsep=;\r\n", end="\r\n", decimal=","),
        "m",
        "",
    ),
    "units in brackets": ("s.csv", lambda p: delimited(p, "No.|E [m]|N [m]|RL [m]|Remarks"), "m", ""),
    "units behind a stroke": ("s.csv", lambda p: delimited(p, "id|x_m|y_m|elevation_m|note"), "m", ""),
    "upright strokes": (
        "s.csv",
        lambda p: delimited(p, "POINT|X COORD|Y COORD|Z COORD|DESCRIPTION", mark="|"),
        "m",
        "",
    ),
    "blanks": ("s.txt", lambda p: delimited(p, "P|E|N|Z|D", mark="   "), "m", ""),
    "a title and a date above": (
        "s.csv",
        lambda p: delimited(
            p, "Point|Easting|Northing|Elev|Code", above="Job: invented yard\n2026-05-04,laser level\n"
        ),
        "m",
        "",
    ),
    "remarks above and blank rows below": (
        "s.csv",
        lambda p: delimited(p, "Shot|East|North|Level|Note", above="# by hand\n\n", below="\n,,,,\n,,,,\n"),
        "m",
        "",
    ),
    "openpyxl, plain": ("s.xlsx", lambda p: by_openpyxl(p, "Point|Easting|Northing|Elevation|Code"), "m", ""),
    "openpyxl, a title above": (
        "s.xlsx",
        lambda p: by_openpyxl(
            p,
            "Pt #|Northing (m)|Easting (m)|Reduced Level (m)|Feature",
            "pyxzc",
            [["Levels, invented yard"], [], ["Instrument", "laser"]],
        ),
        "m",
        "",
    ),
    "openpyxl, German": ("s.xlsx", lambda p: by_openpyxl(p, "Pkt|Rechtswert|Hochwert|Höhe|Beschreibung"), "m", ""),
    "xlsxwriter, plain": ("s.xlsx", lambda p: by_xlsxwriter(p, "Name|E|N|Elev|Description"), "m", ""),
    "xlsxwriter, not in the corner": (
        "s.xlsx",
        lambda p: by_xlsxwriter(p, "ID|X|Y|Height|Notes", first=(6, 3)),
        "m",
        "",
    ),
    "xlsxwriter, formulas with their results": ("s.xlsx", formulas, "m", ""),
    "pandas, with its index": ("s.xlsx", lambda p: by_pandas(p, "point|x|y|elevation|code", index=True), "m", ""),
    "pandas, figures as texts with commas": (
        "s.xlsx",
        lambda p: by_pandas(p, "Punto|Este|Norte|Elevación|Código", text=True),
        "m",
        "",
    ),
    "feet in the heads": ("s.xlsx", in_feet, "ft", ""),
    "shots on one tab of three": ("s.xlsx", two_tabs, "m", ""),
    "no heads": ("s.csv", lambda p: logger_rows(p, "pyxzc"), "m", "the first line holds numbers, not the names"),
    "heads that nobody knows": (
        "s.csv",
        lambda p: delimited(p, "a|b|c|d|e"),
        "m",
        'the columns were taken so: "a" for nothing, "b" for nothing',
    ),
    "two heights": (
        "s.csv",
        lambda p: delimited(p, "point|x|y|z|level"),
        "m",
        'the columns "z" and "level" both give the elevation',
    ),
    "metres for a yard in feet": (
        "s.xlsx",
        lambda p: by_openpyxl(p, "Point|X (m)|Y (m)|Z (m)|Code"),
        "ft",
        'the header says m, but the site is in "ft"',
    ),
    "a workbook without a table": (
        "s.xlsx",
        lambda p: by_openpyxl(p, "Qty|Plant|Size|Price|Note"),
        "m",
        'the columns were taken so: "Qty" for nothing',
    ),
    "one head of another word": (
        "s.xlsx",
        lambda p: by_openpyxl(p, "Point|East|North|Datum height of ground|Code"),
        "m",
        '"East" for x, "North" for y, "Datum height of ground" for nothing',
    ),
}
