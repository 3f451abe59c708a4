"""One small change of the tool each, and a runner that tells whether the tests notice it.

.venv/bin/python tests/mutation/mutants.py              # all of them; survivors are listed at the end
.venv/bin/python tests/mutation/mutants.py stone pairs   # those whose file or change holds one of these words
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
NOT_COPIED = (".git", ".venv", "*.pyc", "out", ".*_cache", ".hypothesis", "node_modules")
MOST_SECONDS = 300


@dataclass(frozen=True)
class Mutant:
    """A change: in `file` the text `old`, which stands there once, becomes `new`; `tests` ought to fail then."""

    file: str
    old: str
    new: str
    tests: tuple[str, ...]

    def __str__(self) -> str:
        return f"{self.file}: {self.old!r} -> {self.new!r}"

    def apply(self, tree: Path) -> None:
        """Make the change in a copy of the tree."""
        path = tree / self.file
        text = path.read_text(encoding="utf-8")
        assert text.count(self.old) == 1, f"{self}: stands {text.count(self.old)} times"
        path.write_text(text.replace(self.old, self.new), encoding="utf-8")
        if "@compiled" in text:  # another module's machine code may hold what is changed here
            for kept in tree.rglob("*.nb[ci]"):
                kept.unlink()


@contextmanager
def copied_tree() -> Iterator[Path]:
    """A copy of the tree to make changes in, with its machine code; gone at the end."""
    with tempfile.TemporaryDirectory(prefix="mutants-") as folder:
        tree = Path(folder) / "tree"
        shutil.copytree(ROOT, tree, ignore=shutil.ignore_patterns(*NOT_COPIED))
        yield tree


def fails_with(tree: Path, tests: Iterable[str]) -> bool:
    """Run some tests in a copy of the tree until the first that fails."""
    around = {**os.environ, "PYTHONPATH": str(tree), "PYTHONDONTWRITEBYTECODE": "1", "CI": "1"}
    command = [sys.executable, "-m", "pytest", "-q", "-x", "-p", "no:cacheprovider", *tests]
    try:
        done = subprocess.run(command, cwd=tree, env=around, capture_output=True, text=True, timeout=MOST_SECONDS)
    except subprocess.TimeoutExpired:
        return True
    assert done.returncode in (0, 1, 2), done.stdout + done.stderr  # 2: the change breaks an import
    return done.returncode != 0


def survives(mutant: Mutant) -> bool:
    """Whether the tests still pass with the change made."""
    with copied_tree() as tree:
        mutant.apply(tree)
        return not fails_with(tree, mutant.tests)


def survivors(mutants: Iterable[Mutant]) -> list[Mutant]:
    """Those that no test notices, as many tried at a time as there are processors."""
    every = list(mutants)
    with ThreadPoolExecutor(os.cpu_count()) as pool:
        found = list(pool.map(_told, every))
    return [mutant for mutant, alive in zip(every, found, strict=True) if alive]


def _told(mutant: Mutant) -> bool:
    alive = survives(mutant)
    print("SURVIVED" if alive else "caught  ", mutant, flush=True)
    return alive


def main(words: list[str]) -> int:
    """Try those that hold one of the words, or all; status 1 where one in twenty or more survives."""
    from listed import MUTANTS

    chosen = [mutant for mutant in MUTANTS if not words or any(word in str(mutant) for word in words)]
    alive = survivors(chosen)
    print(f"{len(chosen) - len(alive)} of {len(chosen)} caught")
    for mutant in alive:
        print("  survived:", mutant, *mutant.tests)
    return int(len(alive) > 0.05 * len(chosen))


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
