"""What every test shares: steady property tests, and the command run as a person runs it."""

from __future__ import annotations

import gc
import os
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator, Mapping
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from examples_drawn import EXAMPLES
from hypothesis import settings
from ready_command import Run, ready_command

if TYPE_CHECKING:
    from reader_forks import Forks

# Linear algebra on one thread, here and in every command run from here: two threads that wait for each other on a busy
# machine made the suite three times as slow. numpy reads this when it is first imported, which is after this line.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

# Keep the compiled form of every test and module, as Python does unless told otherwise: half of the time of collecting.
sys.dont_write_bytecode = False
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)

ROOT = Path(__file__).resolve().parent.parent


def pytest_collection_finish() -> None:
    """What collecting made lives to the end: going through it for what can be freed took a tenth of the time."""
    gc.collect()
    gc.freeze()


@pytest.hookimpl(trylast=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Where quick and slow tests run together the quick ones come first."""
    items.sort(key=lambda item: item.get_closest_marker("slow") is not None)


def pytest_runtest_teardown(item: pytest.Item, nextitem: pytest.Item | None) -> None:
    """What a folder's tests kept for each other is let go of behind them: a process of gigabytes takes long to fork."""
    folder = item.path.parent
    if nextitem is None or nextitem.path.parent == folder or folder.name == "laws":  # those are kept for all folders
        return
    for module in list(sys.modules.values()):
        if Path(getattr(module, "__file__", None) or "").parent == folder:
            for kept in [value for value in vars(module).values() if isinstance(value, type(cache(bool)))]:
                kept.cache_clear()
    gc.collect()


def pytest_runtest_logreport(report: pytest.TestReport) -> None:
    """A test that fails is named at once: the end of a run of all of them is far away."""
    if report.failed and "PYTEST_XDIST_WORKER" not in os.environ:
        sys.stderr.write(f"\nFAILED {report.nodeid}\n")


# A busy machine is no reason to fail, and a run must be repeatable: CI draws the same examples every time, and all of
# them (`steady`); quick tests alone draw a share (`brief`), those on the lowest versions a smaller one (`few`). A law
# that states how many it wants asks `drawn` for its share.
settings.register_profile("steady", deadline=None, max_examples=EXAMPLES, derandomize="CI" in os.environ)
settings.register_profile("brief", settings.get_profile("steady"), max_examples=EXAMPLES * 2 // 5)
settings.register_profile("few", settings.get_profile("steady"), max_examples=EXAMPLES // 10)
settings.load_profile("brief")


@pytest.fixture(scope="session")
def hummock() -> Iterator[Callable[..., Run]]:
    """The real command in a process of its own: `hummock("shape", site_file).returncode`.

    `first` is code that the process runs before the command, to put a fault in its way.
    """
    with ready_command(ROOT) as ready:

        def run(
            *words: object,
            environment: Mapping[str, str] | None = None,
            cwd: Path | None = None,
            first: str = "",
            **options: object,
        ) -> Run:
            if environment or options or not hasattr(os, "fork"):
                assert not first
                return from_the_start(*words, environment=environment, cwd=cwd, **options)
            return ready.run([*map(str, words)], cwd or Path.cwd(), around({}), first)

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
def coarse(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with both shipped examples, their ground on wider cells: for what does not hang on its fineness."""
    place = tmp_path_factory.mktemp("coarse")
    for name, cell in (("alder-bend", "8 in"), ("larkspur-rise", "20 cm")):
        yard = place / "examples" / name
        shutil.copytree(ROOT / "examples" / name, yard, ignore=shutil.ignore_patterns("*.png", "out"))
        with (yard / "site.toml").open("a", encoding="utf-8") as site:
            site.write(f'\n[grid]\ncell = "{cell}"\n')
    return place


@pytest.fixture(scope="session")
def forks(root: Path) -> Iterator[Forks]:
    """Readers of foreign formats in forks of one process; tests/strangers has them in processes of their own."""
    from reader_forks import reader_forks

    with reader_forks(root) as process:
        yield process


@pytest.fixture
def forked_readers(forks: Forks, monkeypatch: pytest.MonkeyPatch) -> None:
    """Every foreign file of this test is read in such a fork."""
    from terrain.survey.readers import apart

    monkeypatch.setattr(apart, "_answered", forks.answered)


@pytest.fixture(scope="session")
def root() -> Path:
    """The top of the repository."""
    return ROOT
