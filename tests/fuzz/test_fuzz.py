"""Ten thousand spoiled site folders: each is read or refused in words, in 10 s and in 1 GiB.

500 of them are quick (batch 0), the rest carry the marker `fuzz`: `pytest -m fuzz`. A folder that failed is kept under
`cases/` and read again on every run. The readers of foreign formats run in forks of one process (`reader_forks`), under
the bounds of their own; that the real process of theirs keeps them is shown in tests/strangers/test_foreign_files.py.
"""

from __future__ import annotations

import os
import random
import resource
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from reader_forks import HANG, Forks, reader_forks
from spoil import BINARY as BINARY_WAYS, TEXT, spoiled
from whole_yards import BINARY, Files, places_to_spoil, write, yards

from terrain.errors import MOST_TOLD, InputError
from terrain.plain import plain
from terrain.site.read import read_site
from terrain.survey.readers import apart

pytest.importorskip("ezdxf")
pytest.importorskip("lazrs")
pytest.importorskip("rasterio")
if not hasattr(os, "fork"):
    pytest.skip("this system cannot fork", allow_module_level=True)

BATCH = 500
BATCHES = [0, *(pytest.param(batch, marks=pytest.mark.fuzz) for batch in range(1, 20))]
GIBIBYTE = 2**20  # in KiB, as the system counts a process's memory; a fork cannot have more, by its own bound
CASES = Path(__file__).parent / "cases"


@pytest.fixture(scope="module")
def forks(root: Path) -> Iterator[Forks]:
    with reader_forks(root) as process:
        yield process


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


@pytest.mark.parametrize("batch", BATCHES)
def test_spoiled_folders_are_read_or_refused(
    batch: int, made: dict[str, Files], forks: Forks, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(apart, "_answered", forks.answered)
    folders = {kind: write(tmp_path / kind, files) for kind, files in made.items()}
    answers, before = [], resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    for number in range(batch * BATCH, (batch + 1) * BATCH):
        kind, name, data = spoil_one(made, number)
        path = folders[kind].parent / name
        path.write_bytes(data)
        try:
            answers.append(verdict(folders[kind]))
        except Exception as error:
            raise AssertionError(f"{kind}, {name}, number {number}: keep it under {CASES}") from error
        path.write_bytes(made[kind][name])
    refused = [answer for answer in answers if answer != "read"]
    assert BATCH // 4 < len(refused) < BATCH  # it spoils, and not everything
    more = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before
    assert more < GIBIBYTE, f"{more / 2**10:.0f} MiB"


@pytest.mark.parametrize("kind", ["tapes", "tables", "geojson", "dxf", "las", "laz", "tif"])
def test_the_folders_are_read_before_they_are_spoiled(kind: str, made: dict[str, Files], tmp_path: Path) -> None:
    assert verdict(write(tmp_path / kind, made[kind])) == "read"


KEPT = sorted(CASES.glob("*/*"))


@pytest.mark.parametrize("case", KEPT, ids=[f"{path.parent.name} {path.name}" for path in KEPT])
def test_a_folder_that_failed_before_is_answered(
    case: Path, made: dict[str, Files], forks: Forks, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A case is a file `<what it was>.<ending>` in a folder named "<kind> <file>"."""
    monkeypatch.setattr(apart, "_answered", forks.answered)
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
