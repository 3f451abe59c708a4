"""`hummock setout` as a crew runs it."""

from __future__ import annotations

import csv
import json
from collections.abc import Callable
from pathlib import Path

import pytest
from yards import results

SITE = "examples/alder-bend/site.toml"


@pytest.fixture(scope="module")
def staked(coarse: Path, hummock: Callable, tmp_path_factory: pytest.TempPathFactory) -> tuple:
    folder = tmp_path_factory.mktemp("setout") / "out"
    words = ("--benchmark", "18", "--backsight", "4.32")
    return hummock("setout", coarse / SITE, "--out", folder, *words), folder


def test_it_writes_pages_a_table_and_json(staked: tuple) -> None:
    ended, folder = staked
    assert ended.returncode == 0, ended.stderr
    assert results(folder) == {"setout.csv", "setout-known.csv", "setout.json", "setout.pdf"}
    assert (folder / "setout.pdf").read_bytes().startswith(b"%PDF")


def test_the_terminal_tells_tapes_sides_and_what_to_build(staked: tuple) -> None:
    ended, _ = staked
    for said in (
        "Known points",
        "house SE",
        "left of",
        "build day one",
        "rod",
        "Height of instrument",
        "the mound is within",
    ):
        assert said in ended.stdout
    assert max(map(len, ended.stdout.splitlines())) <= 80


def test_table_and_summary_hold_the_same_stakes(staked: tuple) -> None:
    _, folder = staked
    summary = json.loads((folder / "setout.json").read_text())
    assert summary["format"] == "hummock-summary/2"
    rows = list(csv.DictReader((folder / "setout.csv").read_text().splitlines()))
    assert [row["point"] for row in rows] == [stake["name"] for stake in summary["setout"]["stakes"]]
    for row, stake in zip(rows, summary["setout"]["stakes"], strict=True):
        assert float(row["day one (ft)"]) * 0.3048 == pytest.approx(stake["day_one_m"], abs=2e-4)
        reading = summary["setout"]["instrument_m"] - stake["finished_m"]
        assert float(row["rod finished (ft)"]) * 0.3048 == pytest.approx(reading, abs=2e-3)


@pytest.mark.slow
def test_json_stands_alone(coarse: Path, hummock: Callable, tmp_path: Path) -> None:
    ended = hummock("setout", coarse / "examples/larkspur-rise/site.toml", "--json", "--out", tmp_path / "out")
    assert ended.returncode == 0, ended.stderr
    assert json.loads(ended.stdout)["setout"]["instrument_m"] is None


@pytest.mark.slow
@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--spacing", "wide"), "--spacing"),
        (("--spacing", "1 in"), "out of range"),
        (("--benchmark", "18"), "one of the two is missing"),
        (("--benchmark", "999x", "--backsight", "4"), "no shot of the survey"),
    ],
)
def test_a_slip_gets_one_message_and_no_file(
    words: tuple[str, ...], said: str, coarse: Path, hummock: Callable, tmp_path: Path
) -> None:
    ended = hummock("setout", coarse / SITE, "--out", tmp_path / "out", *words)
    assert ended.returncode == 2
    assert said in ended.stderr
    assert "Traceback" not in ended.stderr
    assert not (tmp_path / "out").exists()
