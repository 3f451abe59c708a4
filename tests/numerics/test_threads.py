"""Linear algebra keeps to one thread: in every command from its start, and in the library wherever it solves."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from shipped import study_of
from threadpoolctl import ThreadpoolController, threadpool_limits

from terrain.numerics.threads import one_thread
from terrain.shape import form
from terrain.shape.prepared import prepare

COUNTS = "print([one['num_threads'] for one in threadpoolctl.threadpool_info() if one['user_api'] == 'blas'])"


def blas_threads() -> set[int]:
    return {one["num_threads"] for one in ThreadpoolController().info() if one["user_api"] == "blas"}


def test_a_command_started_without_the_variable_has_one_thread(root: Path) -> None:
    """The tests' own commands inherit the variable; this one does not."""
    code = f"""
from cli.main import main
try:
    main(["--help"])
except SystemExit:
    pass
import numpy, scipy.linalg, threadpoolctl
{COUNTS}
"""
    bare = {name: value for name, value in os.environ.items() if not name.endswith("_NUM_THREADS")}
    run = subprocess.run(
        [sys.executable, "-c", code],
        capture_output=True,
        text=True,
        env={**bare, "PYTHONPATH": str(root)},
        timeout=120,
        check=True,
    )
    counts = run.stdout.strip().splitlines()[-1]
    assert set(counts.strip("[]").split(", ")) == {"1"}


def test_inside_the_block_every_library_has_one_thread_and_after_it_its_own() -> None:
    with threadpool_limits(limits=2, user_api="blas"):
        before = blas_threads()
        with one_thread():
            assert blas_threads() == {1}
        assert blas_threads() == before


def test_the_form_is_solved_on_one_thread(monkeypatch: pytest.MonkeyPatch) -> None:
    seen: list[set[int]] = []
    solve = np.linalg.solve

    def watched(*arguments: np.ndarray) -> np.ndarray:
        seen.append(blas_threads())
        return solve(*arguments)

    monkeypatch.setattr(form.np.linalg, "solve", watched)
    study = study_of("alder-bend", 0.3)
    with threadpool_limits(limits=2, user_api="blas"):
        prepare(study.site, study.ground)
    assert seen
    assert all(counts == {1} for counts in seen)
