"""An installation that may only be read, used by somebody without a home: everything works, nothing is left behind."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
STRANGER = 54321  # a user number that no machine gives a name to
COMPILES = """
import os
from terrain.numerics.machine_code import compiled, made_anew

@compiled
def total(count):
    found = 0
    for i in range(count):
        found += i
    return found

print(total(5), made_anew(), os.listdir("."))
"""


def as_a_stranger() -> list[str]:
    """The words before a command that take from it the right to write what is not its own."""
    if not sys.platform.startswith("linux"):
        pytest.skip("needs setpriv")
    if os.getuid() != 0:
        return []
    if shutil.which("setpriv") is None:
        pytest.skip("needs setpriv")
    # Root's own folders may hold the interpreter: the stranger may read them, and nothing more.
    may_read = ["--inh-caps", "+dac_read_search", "--ambient-caps", "+dac_read_search"]
    words = ["setpriv", "--reuid", str(STRANGER), "--regid", str(STRANGER), "--clear-groups", *may_read]
    if subprocess.run([*words, "true"], check=False, capture_output=True).returncode:
        pytest.skip("this machine lets nobody become another user")
    return words


@pytest.fixture
def installation(tmp_path: Path) -> Path:
    """The three packages in a folder that nobody may write, beside an open one."""
    place = tmp_path / "in"
    for package in ("terrain", "viewer", "cli"):
        shutil.copytree(ROOT / package, place / package, ignore=shutil.ignore_patterns("__pycache__"))
    (tmp_path / "open").mkdir()
    for folder in (place, *(path for path in place.rglob("*") if path.is_dir())):
        folder.chmod(0o555)
    for folder in (tmp_path, *tmp_path.parents):
        if folder.stat().st_uid == os.getuid() and folder != Path("/"):
            folder.chmod(folder.stat().st_mode | 0o011)
    (tmp_path / "open").chmod(0o777)
    yield place
    for folder in (place, *(path for path in place.rglob("*") if path.is_dir())):
        folder.chmod(0o755)


def run(installation: Path, words: list[str], home: str | None) -> subprocess.CompletedProcess[str]:
    around = {"PATH": os.environ["PATH"], "PYTHONPATH": str(installation), **({"HOME": home} if home else {})}
    return subprocess.run(
        [*as_a_stranger(), sys.executable, *words],
        cwd=installation.parent / "open",
        env=around,
        capture_output=True,
        text=True,
        timeout=300,
        check=False,
    )


@pytest.mark.parametrize(
    "home", [pytest.param(None, marks=pytest.mark.slow), "/nonexistent"], ids=["no home", "a home that is not there"]
)
def test_loops_compile_where_nothing_can_be_kept(installation: Path, home: str | None) -> None:
    if os.getuid() != 0 and home is None:
        pytest.skip("this user has a home by its name")
    script = installation.parent / "open" / "run.py"
    script.write_text(COMPILES, encoding="utf-8")
    (installation.parent / "open").chmod(0o555)
    ended = run(installation, [str(script)], home)
    assert ended.stdout == "10 True ['run.py']\n", ended.stderr


def test_no_machine_code_is_taken_from_the_folder_of_the_command(installation: Path) -> None:
    """A folder called ~ that came by mail is no home."""
    script = installation.parent / "open" / "run.py"
    script.write_text(COMPILES, encoding="utf-8")
    (installation.parent / "open" / "~").mkdir()
    (installation.parent / "open" / "~").chmod(0o777)
    ended = run(installation, [str(script)], None)
    assert ended.stdout.startswith("10 "), ended.stderr
    assert not any((installation.parent / "open" / "~").iterdir())


@pytest.mark.slow
def test_a_command_works_for_a_stranger_and_says_once_that_it_compiles_anew(installation: Path) -> None:
    yard = installation.parent / "open" / "yard"
    shutil.copytree(ROOT / "examples" / "alder-bend", yard, ignore=shutil.ignore_patterns("out"))
    yard.chmod(0o777)
    ended = run(installation, ["-m", "cli.main", "trees", "yard/site.toml"], "/nonexistent")
    assert ended.returncode in (0, 1), ended.stderr
    assert ended.stderr.count("\n") == 1
    assert "no folder could be written to keep compiled code in" in ended.stderr
    assert {path.name for path in yard.parent.iterdir()} == {"yard"}
    assert (yard / "out" / "trees.pdf").exists()
