"""A busy machine takes its share of a command's time and no more: none waits in circles for a core that others have.

Two threads of linear algebra that wait for each other once made a command on a busy machine ten times as dear. Counted
is the time of processors, so that waiting for one's turn costs nothing; the variables that hold the linear algebra to
one thread, which other tests hand on, are taken away.
"""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(not hasattr(os, "wait4"), reason="asks the system what a process took"),
]
MOST = 1.6  # times as much as undisturbed: two programs on one core share its caches. No published source
ROUNDS = 2
SITE = "examples/larkspur-rise/site.toml"
IN_A_SCRIPT = f"import hummock; hummock.run_site(hummock.read_site({SITE!r}))"


@contextmanager
def busy_cores() -> Iterator[None]:
    """Every core has something else to do."""
    loops = [subprocess.Popen([sys.executable, "-c", "while True: pass"]) for _ in range(os.cpu_count() or 1)]
    try:
        yield
    finally:
        for loop in loops:
            loop.kill()
            loop.wait()


def taken(words: list[str], root: Path) -> float:
    """Processor time in seconds of a command with all that it starts."""
    bare = {name: value for name, value in os.environ.items() if not name.endswith("_NUM_THREADS")}
    run = subprocess.Popen(
        words, cwd=root, env={**bare, "PYTHONPATH": str(root)}, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE
    )
    _, status, usage = os.wait4(run.pid, 0)
    run.returncode = os.waitstatus_to_exitcode(status)
    assert run.stderr is not None
    said = run.stderr.read()
    run.stderr.close()
    assert run.returncode in (0, 1), said
    return usage.ru_utime + usage.ru_stime


@pytest.mark.parametrize("command", ["ground", "order", "setout", "shape", "a script"])
def test_a_busy_machine_makes_no_command_dearer(command: str, root: Path, tmp_path: Path) -> None:
    words = [sys.executable, "-m", "cli.main", command, SITE, "--json", "--out", str(tmp_path / "out")]
    if command == "a script":
        words = [sys.executable, "-c", IN_A_SCRIPT]
    taken(words, root)  # compiles, where nothing was yet
    alone = min(taken(words, root) for _ in range(ROUNDS))
    with busy_cores():
        beside = min(taken(words, root) for _ in range(ROUNDS))
    assert beside < MOST * alone
