"""Workbooks that come by mail: archives that unpack without end, XML that unfolds, spoiled bytes: all end in words."""

from __future__ import annotations

import random
import time
import zipfile
from pathlib import Path

import openpyxl
import pytest
from spoil import BINARY, spoiled

from terrain.errors import MOST_TOLD, InputError
from terrain.plain import plain
from terrain.survey.measured import ReadOptions
from terrain.survey.readers.read import read_measured
from terrain.survey.workbook import read_workbook

pytestmark = pytest.mark.usefixtures("forked_readers")
METRES = ReadOptions("m", "m")


def small_book(path: Path) -> Path:
    book = openpyxl.Workbook()
    book.active.title = "Shots"
    book.active.append(["point", "x", "y", "elevation"])
    for number in range(8):
        book.active.append([str(number), float(number), float(number % 3), 10.0 + 0.1 * number])
    book.save(path)
    return path


def with_part(source: Path, name: str, content: bytes) -> Path:
    """A copy in which one part of the archive is another, or there is one more."""
    path = source.with_name("other.xlsx")
    with zipfile.ZipFile(source) as old, zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as new:
        for member in old.infolist():
            if member.filename != name:
                new.writestr(member, old.read(member))
        new.writestr(name, content)
    return path


def refused(path: Path) -> str:
    start = time.process_time()
    with pytest.raises(InputError) as fault:
        read_measured(path, path.name, METRES)
    assert time.process_time() - start < 10.0
    message = str(fault.value)
    assert message.startswith(path.name)
    assert "\n" not in message
    return message


SHEET = "xl/worksheets/sheet1.xml"


def test_an_archive_that_unpacks_to_gigabytes_is_refused_before_it_is_unpacked(tmp_path: Path) -> None:
    book = small_book(tmp_path / "s.xlsx")
    assert "unpacks to 1" in refused(with_part(book, "xl/media/image1.png", bytes(150 * 2**20)))
    assert "more than 64 MiB or 1,000 parts" in refused(with_part(book, SHEET, b" " * (70 * 2**20)))


def test_an_archive_that_lies_about_its_size_unpacks_no_more_than_it_said(tmp_path: Path) -> None:
    path = with_part(small_book(tmp_path / "s.xlsx"), SHEET, b"<worksheet>" + b" " * (70 * 2**20))
    data = path.read_bytes()
    size = (70 * 2**20 + 11).to_bytes(4, "little")
    assert data.count(size) == 2  # before the part and in the directory
    path.write_bytes(data.replace(size, (5000).to_bytes(4, "little")))
    assert "this is not a readable workbook" in refused(path)


def test_thousands_of_parts_are_refused(tmp_path: Path) -> None:
    path = small_book(tmp_path / "s.xlsx")
    with zipfile.ZipFile(path, "a") as archive:
        for number in range(1001):
            archive.writestr(f"xl/junk{number}.bin", b"")
    assert "parts, more than 64 MiB or 1,000 parts" in refused(path)


LAUGHS = (
    '<?xml version="1.0"?><!DOCTYPE w [<!ENTITY a "ha">'
    + "".join(f'<!ENTITY {chr(98 + k)} "{f"&{chr(97 + k)};" * 10}">' for k in range(9))
    + "]><worksheet>&j;</worksheet>"
)
OUTSIDE = '<?xml version="1.0"?><!DOCTYPE w [<!ENTITY a SYSTEM "file:///etc/passwd">]><worksheet>&a;</worksheet>'


@pytest.mark.parametrize("encoding", ["utf-8", "utf-16"])
@pytest.mark.parametrize("text", [LAUGHS, OUTSIDE], ids=["entities in entities", "a file of the machine"])
def test_xml_that_declares_entities_is_refused(text: str, encoding: str, tmp_path: Path) -> None:
    book = small_book(tmp_path / "s.xlsx")
    for part in (SHEET, "xl/workbook.xml", "xl/styles.xml"):
        message = refused(with_part(book, part, text.encode(encoding)))
        assert "a part of the workbook declares entities, which no spreadsheet writes" in message
        assert "root" not in message


def test_a_row_far_below_is_refused_and_not_walked_to(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    book.active.append(["x", "y", "z"])
    book.active.cell(1_048_576, 1, 5.0)
    book.save(tmp_path / "s.xlsx")
    assert "has more than 30,000 rows" in refused(tmp_path / "s.xlsx")


def test_what_is_no_workbook_is_refused_by_its_name(tmp_path: Path) -> None:
    for data in (b"", b"PK\x03\x04", b"not a workbook", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(600)):
        (tmp_path / "s.xlsx").write_bytes(data)
        assert "this is not a readable workbook" in refused(tmp_path / "s.xlsx")


def test_signs_that_act_never_come_through(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    book.active.title = "a\u202eb"
    book.active.append(["x", "y\u202e", "up\u2066"])
    book.active.append([1, 2, "\u202e3"])
    book.save(tmp_path / "s.xlsx")
    tab = read_workbook(tmp_path / "s.xlsx", "s.xlsx")[0]
    assert all(plain(text) == text for _, cells in tab.rows for text in (*cells, tab.name))


@pytest.mark.parametrize(
    "numbers",
    [
        pytest.param(range(20), id="quick"),
        pytest.param(range(20, 60), id="share", marks=pytest.mark.slow),
        pytest.param(range(60, 3000), id="whole", marks=pytest.mark.fuzz),
    ],
)
def test_spoiled_workbooks_are_read_or_refused(numbers: range, tmp_path: Path) -> None:
    whole, path = small_book(tmp_path / "s.xlsx").read_bytes(), tmp_path / "s.xlsx"
    answers = []
    for number in numbers:
        path.write_bytes(spoiled(whole, random.Random(f"book {number}"), BINARY))
        try:
            read_measured(path, path.name, METRES)
            answers.append("read")
        except InputError as error:
            answers.append(str(error))
    for answer in answers:
        lines = answer.split("\n")
        assert len(lines) <= MOST_TOLD + 1
        assert all(plain(line) == line for line in lines)
    assert any(answer != "read" for answer in answers)  # it spoils
