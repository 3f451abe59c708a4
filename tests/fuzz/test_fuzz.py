"""Ten thousand spoiled site folders: each is read or refused in words, in 10 s and in 1 GiB.

100 of them are quick, 1,000 more slow, the rest carries the marker `fuzz`: `pytest -m fuzz`. A folder that failed is
kept under `cases/` and read again on every run. The readers of foreign formats run in forks of one process
(`reader_forks`), under the bounds of their own; that the real process of theirs keeps them is shown in
tests/strangers/test_foreign_files.py.
"""

from __future__ import annotations

import os
import random
import resource
import time
from collections.abc import Callable
from pathlib import Path

import pytest
from reader_forks import HANG
from spoil import BINARY as BINARY_WAYS, TEXT, spoiled
from whole_yards import BINARY, Files, places_to_spoil, write, yards

from terrain.errors import MOST_TOLD, InputError
from terrain.plain import plain
from terrain.site.read import read_site

pytest.importorskip("ezdxf")
pytest.importorskip("lazrs")
pytest.importorskip("rasterio")
if not hasattr(os, "fork"):
    pytest.skip("this system cannot fork", allow_module_level=True)

BATCH = 500
QUICK = 100
IN_CI = (1, 2)
BATCHES = [
    pytest.param(range(QUICK), id="quick"),
    *(
        pytest.param(
            range(BATCH * k, BATCH * (k + 1)), id=str(k), marks=pytest.mark.slow if k in IN_CI else pytest.mark.fuzz
        )
        for k in range(20)
    ),
]
GIBIBYTE = 2**20  # in KiB, as the system counts a process's memory; a fork cannot have more, by its own bound
CASES = Path(__file__).parent / "cases"


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Files]:
    return yards(tmp_path_factory.mktemp("seeds"))


def verdict(site_file: Path) -> str:
    """ "read" or the refusal, after the laws that hold for both."""
    start = time.process_time()
    try:
        read_site(site_file)
        message = "read"
    except InputError as error:
        message = str(error)
    work = time.process_time() - start
    assert work < HANG, f"{work:.1f} s"
    lines = message.split("\n")  # one a fault
    assert len(lines) <= MOST_TOLD + 1
    for line in lines:
        assert plain(line) == line
        assert len(line) < 5000
    message.encode("utf-8")
    return message


def spoil_one(made: dict[str, Files], number: int) -> tuple[str, str, bytes]:
    """Kind of survey, name of the file and its spoiled bytes, the same for the same number."""
    chance = random.Random(f"hummock {number}")
    kind, name = chance.choice(list(places_to_spoil(made)))
    ways = BINARY_WAYS if name in BINARY else TEXT
    return kind, name, spoiled(made[kind][name], chance, ways)


@pytest.mark.usefixtures("forked_readers")
@pytest.mark.parametrize("numbers", BATCHES)
def test_spoiled_folders_are_read_or_refused(numbers: range, made: dict[str, Files], tmp_path: Path) -> None:
    folders = {kind: write(tmp_path / kind, files) for kind, files in made.items()}
    answers, before = [], resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    for number in numbers:
        kind, name, data = spoil_one(made, number)
        path = folders[kind].parent / name
        path.write_bytes(data)
        try:
            answers.append(verdict(folders[kind]))
        except Exception as error:
            raise AssertionError(f"{kind}, {name}, number {number}: keep it under {CASES}") from error
        path.write_bytes(made[kind][name])
    refused = [answer for answer in answers if answer != "read"]
    assert len(numbers) // 4 < len(refused) < len(numbers)  # it spoils, and not everything
    more = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before
    assert more < GIBIBYTE, f"{more / 2**10:.0f} MiB"


@pytest.mark.parametrize("kind", ["tapes", "tables", "geojson", "dxf", "las", "laz", "tif"])
def test_the_folders_are_read_before_they_are_spoiled(kind: str, made: dict[str, Files], tmp_path: Path) -> None:
    assert verdict(write(tmp_path / kind, made[kind])) == "read"


KEPT = sorted(CASES.glob("*/*"))


@pytest.mark.usefixtures("forked_readers")
@pytest.mark.parametrize("case", KEPT, ids=[f"{path.parent.name} {path.name}" for path in KEPT])
def test_a_folder_that_failed_before_is_answered(case: Path, made: dict[str, Files], tmp_path: Path) -> None:
    """A case is a file `<what it was>.<ending>` in a folder named "<kind> <file>"."""
    kind, _, name = case.parent.name.partition(" ")
    verdict(write(tmp_path / kind, {**made[kind], name: case.read_bytes()}))


def kept(number: int, words: str, made: Callable[[], dict[str, Files]]) -> Path:
    """Keep the folder of a number that failed: call it from a shell."""
    kind, name, data = spoil_one(made(), number)
    folder = CASES / f"{kind} {name}"
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / f"{words}{Path(name).suffix}"
    path.write_bytes(data)
    return path
