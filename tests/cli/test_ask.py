"""`hummock new --ask`: typed answers make a yard and its order, and an end of input or Control+C leaves nothing."""

from __future__ import annotations

import os
import pty
import select
import signal
import subprocess
import sys
import time
from collections.abc import Sequence
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
GRID = [(x, y) for x in (0.0, 13.0, 26.0) for y in (0.0, 6.0, 12.0)]
ROD = [f"{x},{y},{4.1 + 0.04 * y + 0.002 * x:.2f}" for x, y in GRID]
DESIGNER = ["ft", "26 by 12", "rod", *ROD, "", "4.10", "near", "far 12", "oak, 57, 30, 22", "", "8", "", "", "42", ""]


def typed(folder: Path, lines: Sequence[str], *, ended: bool = True) -> subprocess.CompletedProcess[str]:
    """The command with lines on standard input, which then ends."""
    text = "".join(f"{line}\n" for line in lines)
    command = [sys.executable, "-m", "cli.main", "new", str(folder / "yard"), "--ask"]
    around = {**os.environ, "PYTHONPATH": str(ROOT), "COLUMNS": "80"}
    return subprocess.run(
        command, input=text, capture_output=True, text=True, cwd=folder, env=around, timeout=300, check=False
    )


@pytest.mark.slow
def test_a_designer_with_shots_on_paper_has_an_order_at_the_end(tmp_path: Path) -> None:
    run = typed(tmp_path, DESIGNER)
    assert run.returncode == 0, run.stderr
    told = " ".join(run.stdout.split())
    for words in (
        "9: 26 ft along, 12 ft out, reads 4.63 ft",
        "it agrees",
        "the near side is high",
        "Wrote site.toml, shots.csv, bed.csv",
        "The ground under the bed falls 4 % to the north",
        "in nine cases of ten",
    ):
        assert words in told
    assert told.index("12/12") < told.index("Order")
    assert (tmp_path / "yard" / "out" / "order.pdf").is_file()


@pytest.mark.parametrize("count", [0, pytest.param(5, marks=pytest.mark.slow), len(DESIGNER) - 1])
def test_input_that_ends_early_leaves_nothing(tmp_path: Path, count: int) -> None:
    run = typed(tmp_path, DESIGNER[:count])
    assert run.returncode == 2
    assert "the input ended here; nothing was written." in run.stderr
    assert list(tmp_path.iterdir()) == []


def test_a_yard_that_is_there_is_not_asked_over(tmp_path: Path) -> None:
    (tmp_path / "yard").mkdir()
    (tmp_path / "yard" / "shots.csv").write_text("mine", encoding="utf-8")
    run = typed(tmp_path, DESIGNER)
    assert (run.returncode, run.stdout) == (2, "")
    assert "shots.csv already there, nothing was written" in run.stderr
    assert (tmp_path / "yard" / "shots.csv").read_text(encoding="utf-8") == "mine"


@pytest.mark.skipif(not hasattr(os, "fork"), reason="a terminal of its own needs a fork")
def test_control_c_at_a_terminal_leaves_nothing(tmp_path: Path) -> None:
    pid, screen = pty.fork()
    if pid == 0:  # pragma: no cover - the other process
        signal.signal(signal.SIGINT, signal.SIG_DFL)  # the tests may run where Control+C is ignored
        os.chdir(ROOT)
        os.execv(sys.executable, [sys.executable, "-m", "cli.main", "new", str(tmp_path / "yard"), "--ask"])
    os.write(screen, b"ft\n26 by 12\n")
    seen = _until(screen, "3/12")
    os.write(screen, b"\x03")
    seen += _until(screen, "nothing was left half written")
    status = os.waitstatus_to_exitcode(os.waitpid(pid, 0)[1])
    os.close(screen)
    assert status == 130
    assert "-> 26 ft along, 12 ft out, 4 corners" in seen
    assert list(tmp_path.iterdir()) == []


def _until(screen: int, words: str) -> str:
    """What a terminal shows until some words stand there, a minute at most."""
    seen, end = "", time.monotonic() + 60.0
    while words not in seen and time.monotonic() < end:
        if select.select([screen], [], [], 1.0)[0]:
            seen += os.read(screen, 4096).decode("utf-8", "replace")
    assert words in seen
    return seen
