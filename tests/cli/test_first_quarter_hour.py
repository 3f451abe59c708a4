"""Five people's first quarter of an hour, counted by what they type and by what they are told.

The arborist with somebody else's plan: tests/plans/test_arborists_walk.py. Every figure here is invented.
"""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from collections.abc import Callable, Sequence
from pathlib import Path

import pytest
from pypdf import PdfReader
from small_yard import small_yard

pytestmark = pytest.mark.slow
ROOT = Path(__file__).resolve().parents[2]
PAPER = [
    (x, y, 3.9 + 0.03 * y + 0.01 * x + (0.02 if (number % 3) else 0.0))
    for number, (x, y) in enumerate((x, y) for x in (-2, 4, 10, 16, 22, 28) for y in (-2, 3, 7, 11, 14))
]


def asked(folder: Path, lines: Sequence[str]) -> tuple[subprocess.CompletedProcess[str], dict]:
    """The questions with lines on standard input: what was said, and the order as JSON has it."""
    text = "".join(f"{line}\n" for line in lines)
    around = {**os.environ, "PYTHONPATH": str(ROOT), "COLUMNS": "80"}
    command = [sys.executable, "-m", "cli.main", "new", "yard", "--ask"]
    run = subprocess.run(
        command, input=text, capture_output=True, text=True, cwd=folder, env=around, timeout=300, check=False
    )
    written = folder / "yard/out/order.json"
    return run, json.loads(written.read_text(encoding="utf-8")) if written.is_file() else {}


def answers(run: subprocess.CompletedProcess[str]) -> int:
    """How many lines were taken up; each is echoed with what it was read as."""
    return run.stdout.count("   -> ")


def refused(run: subprocess.CompletedProcess[str]) -> int:
    return run.stdout.count("Accepted:")


def test_a_designer_with_thirty_shots_on_paper_types_them_once(tmp_path: Path) -> None:
    """One command and one line for each thing known; the only work is the typing of thirty shots."""
    lines = ["ft", "26 by 12", "rod", *(f"{x}, {y}, {z:.2f}" for x, y, z in PAPER), "", "", "near", "far 14"]
    lines += ["oak, 57, 30, 24", "", "8", "planted", "18", "42", ""]
    run, order = asked(tmp_path, lines)
    assert (run.returncode, refused(run)) == (0, 0), run.stderr
    assert answers(run) == len(lines) == 30 + 14
    assert order["ground"]["shots"] == 30
    assert order["order"]["cost"] > 0.0
    assert "toward house" in run.stdout or "to the north" in run.stdout


def test_an_estimator_with_an_outline_and_a_depth_types_one_line(tmp_path: Path, hummock: Callable) -> None:
    (tmp_path / "bed.csv").write_text("x,y\n0,0\n30,0\n30,14\n0,14\n", encoding="utf-8")
    run = hummock("order", "--outline", tmp_path / "bed.csv", "--depth", "6 in")
    assert run.returncode == 0, run.stderr
    told = " ".join(run.stdout.split())
    for words in ("Nothing was measured", "in nine cases of ten", "20 shots would narrow", "Taken for granted"):
        assert told.count(words) == 1


@pytest.mark.parametrize("way", ["string", "nothing"])
def test_a_homeowner_with_a_tape_has_a_first_order(tmp_path: Path, way: str) -> None:
    """A string and a ruler, twelve places in inches; or no level at all, and "don't know" to all but the bed."""
    places = [(x, y) for x in (0, 8, 16, 24) for y in (0, 5, 10)]
    measured = ["string", *(f"{x}, {y}, {12 + 0.36 * y:g}" for x, y in places), "", "12 1/4", "near"]
    lines = ["ft", "24 by 10", *(measured if way == "string" else ["don't know", "?"]), *[""] * 12]
    run, order = asked(tmp_path, lines)
    assert (run.returncode, refused(run)) == (0, 0), run.stderr
    assert order["ground"]["shots"] == (12 if way == "string" else 0)
    low, high = order["order"]["low_loose_m3"], order["order"]["high_loose_m3"]
    if way == "nothing":
        after = order["ground"]["order_after_20_shots_loose_m3"]
        assert low < after[0] < after[1] < high
        assert "Nothing was measured" in run.stdout
    else:
        assert low > 0.0
        assert "falls 3 % to the north" in run.stdout  # 0.36 in a foot of 12 in


def test_a_crew_lead_finds_a_stake_in_the_pdf_and_on_the_page(tmp_path: Path, hummock: Callable) -> None:
    """Two sheets and one page: the same stake with both tapes, its grade, and the points that the tapes start from."""
    site = small_yard(tmp_path / "yard")
    assert hummock("setout", site).returncode == 0
    assert hummock("view", site, "--share", tmp_path / "page.html").returncode == 0
    pages = [page.extract_text() for page in PdfReader(tmp_path / "yard/out/setout.pdf").pages]
    assert len(pages) == 2
    stakes = {one["name"]: one for one in _setout(tmp_path)["setout"]["stakes"]}
    top = max(stakes.values(), key=lambda one: one["day_one_m"] - one["existing_m"])
    (row,) = re.findall(rf"^{top['name']}\b.*$", pages[1], re.MULTILINE)
    tapes = [f"{tape['distance_m']:.2f} m" for tape in top["tapes"]]
    assert [length for length in tapes if length in row] == tapes
    assert f"{top['day_one_m']:.3f}" in row
    assert top["name"] in pages[0]
    page = (tmp_path / "page.html").read_text(encoding="utf-8")
    crew, _ = json.JSONDecoder().raw_decode(page[page.index('"crew":') + len('"crew":') :])
    (shown,) = [one for one in crew["stakes"] if one["name"] == top["name"]]
    assert shown["day_one"] == pytest.approx(top["day_one_m"], abs=1e-3)
    assert {known["name"] for known in crew["known"]} >= {tape["from"] for tape in top["tapes"]}


def _setout(folder: Path) -> dict:
    return json.loads((folder / "yard/out/setout.json").read_text(encoding="utf-8"))
