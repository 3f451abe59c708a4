"""What a command costs from a cold start, beside a bare start of the libraries that it cannot do without.

Run with `pytest -m benchmark tests/benchmarks/test_cold_speed.py -s`. Processor time of the command with all that it
starts, the least of three runs: other programs on the machine count little, and waiting not at all.
"""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest
from sizes import Size

pytestmark = [
    pytest.mark.benchmark,
    pytest.mark.skipif(sys.platform != "linux", reason="counts kibibytes, as Linux does"),
]
ROUNDS = 3, 1  # in full, small
SITE = "examples/alder-bend/site.toml", "cli/starter/feet/site.toml"
# A page with one line and one word, drawn and written by the drawing library alone, after the libraries of a study.
BARE = (
    "import scipy.linalg, scipy.ndimage, scipy.interpolate, scipy.spatial\n"
    "import shapely, numba, pydantic, rich.console\n"
    "from matplotlib.figure import Figure\n"
    "figure = Figure()\naxes = figure.add_subplot()\naxes.plot([0, 1], [0, 1])\naxes.set_title('one')\n"
    "figure.savefig({path!r})\n"
)


def cost(words: list[str], root: Path, rounds: int) -> tuple[float, float]:
    """Least processor time (s) of a command with its children in some runs after one, and its largest process (MB)."""
    used = []
    # Where Python may not keep what it reads of a module, it reads three hundred of them anew: half a second each time.
    kept = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    for _ in range(rounds + 1):
        run = subprocess.Popen(words, cwd=root, env=kept, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        _, status, usage = os.wait4(run.pid, 0)
        run.returncode = os.waitstatus_to_exitcode(status)
        assert run.returncode == 0
        used.append((usage.ru_utime + usage.ru_stime, usage.ru_maxrss / 1024.0))
    return min(used[1:])


# How many times a bare start each may take: a quarter more than was measured on 29 November 2026.
MOST = {"--help": 0.1, "trees": 2.9, "order": 3.6, "ground": 3.8, "setout": 4.3, "shape": 8.9}
FEW = {"--help", "order"}  # at a small size


@pytest.mark.parametrize("command", MOST)
def test_a_cold_command_beside_a_bare_start(command: str, root: Path, tmp_path: Path, size: Size) -> None:
    if size.small and command not in FEW:
        pytest.skip("in full only")
    rounds = size.of(*ROUNDS)
    bare, _ = cost([sys.executable, "-c", BARE.format(path=str(tmp_path / "one.pdf"))], root, rounds)
    words = [sys.executable, "-m", "cli.main", command]
    if command != "--help":
        words += [size.of(*SITE), "--json", "--out", str(tmp_path / "out")]
    ours, held = cost(words, root, rounds)
    print(f"\n{command}: {ours:.2f} s, {held:.0f} MB; bare start {bare:.2f} s; ratio {ours / bare:.2f}")
    assert ours < size.most(MOST[command]) * bare
