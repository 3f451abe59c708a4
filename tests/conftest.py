"""What every test shares: steady property tests, and the command run as a person runs it."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path

import pytest
from hypothesis import settings
from ready_command import Run, ready_command

# Linear algebra on one thread, here and in every command run from here: two threads that wait for each other on a busy
# machine made the suite three times as slow. numpy reads this when it is first imported, which is after this line.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

ROOT = Path(__file__).resolve().parent.parent

# A busy machine is no reason to fail, and a run must be repeatable: CI draws the same examples every time.
settings.register_profile("steady", deadline=None, max_examples=50, derandomize="CI" in os.environ)
settings.load_profile("steady")


@pytest.fixture(scope="session")
def hummock() -> Iterator[Callable[..., Run]]:
    """The real command in a process of its own: `hummock("shape", site_file).returncode`."""
    with ready_command(ROOT) as ready:

        def run(
            *words: object, environment: Mapping[str, str] | None = None, cwd: Path | None = None, **options: object
        ) -> Run:
            if environment or options or not hasattr(os, "fork"):
                return from_the_start(*words, environment=environment, cwd=cwd, **options)
            return ready.run([*map(str, words)], cwd or Path.cwd(), around({}))

        yield run


def around(environment: Mapping[str, str]) -> dict[str, str]:
    return {**os.environ, "PYTHONPATH": str(ROOT), "COLUMNS": "80", **environment}


def from_the_start(
    *words: object, environment: Mapping[str, str] | None = None, cwd: Path | None = None, **options: object
) -> Run:
    """The command with an interpreter of its own, for what is decided while it starts."""
    command = [sys.executable, "-m", "cli.main", *map(str, words)]
    return subprocess.run(  # type: ignore[call-overload, no-any-return]
        command,
        capture_output=True,
        text=True,
        timeout=300,
        env=around(environment or {}),
        check=False,
        cwd=cwd,
        **options,
    )


@pytest.fixture(scope="session")
def root() -> Path:
    """The top of the repository."""
    return ROOT
