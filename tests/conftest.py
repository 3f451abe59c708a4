"""What every test shares: steady property tests, and the command run as a person runs it."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable, Mapping
from pathlib import Path

import pytest
from hypothesis import settings

# Linear algebra on one thread, here and in every command run from here: two threads that wait for each other on a busy
# machine made the suite three times as slow. numpy reads this when it is first imported, which is after this line.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

ROOT = Path(__file__).resolve().parent.parent
Run = subprocess.CompletedProcess[str]

# A busy machine is no reason to fail, and a run must be repeatable: CI draws the same examples every time.
settings.register_profile("steady", deadline=None, max_examples=50, derandomize="CI" in os.environ)
settings.load_profile("steady")


@pytest.fixture(scope="session")
def hummock() -> Callable[..., Run]:
    """The real command in a process of its own: `hummock("shape", site_file).returncode`."""

    def run(*words: object, environment: Mapping[str, str] | None = None, **options: object) -> Run:
        command = [sys.executable, "-m", "cli.main", *map(str, words)]
        around = {**os.environ, "PYTHONPATH": str(ROOT), "COLUMNS": "80", **(environment or {})}
        return subprocess.run(  # type: ignore[call-overload, no-any-return]
            command, capture_output=True, text=True, timeout=300, env=around, check=False, **options
        )

    return run


@pytest.fixture(scope="session")
def root() -> Path:
    """The top of the repository."""
    return ROOT
