"""Whole commands are killed, told to end, run out of disk or meet each other: every set is whole or absent."""

from __future__ import annotations

import os
import random
import resource
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from small_yard import small_yard

from cli.folder import begin_run, refuse_unusable
from cli.main import main
from terrain.errors import InputError, OutputError
from terrain.files import sets
from terrain.files.manifest import MANIFEST, Listed, Run, as_manifest, begun, listed, read_manifest
from terrain.files.set_check import check_set

if not hasattr(os, "fork"):
    pytest.skip("kills processes that it forks", allow_module_level=True)

WORDS = {"order": (), "shape": (), "export": ("--to", "ply,obj,geojson,csv")}


@pytest.fixture
def quick_disk(tmp_path: Path) -> Iterator[Path]:
    """A folder in memory where the system has one, so that 200 copies of a set wait for no disk."""
    memory = Path("/dev/shm")
    if not os.access(memory, os.W_OK):
        yield tmp_path
        return
    with tempfile.TemporaryDirectory(dir=memory) as folder:
        yield Path(folder)


class KilledWhilePublishing:
    """Stands in the way of a command's last step: children that take it are killed, and then it is taken."""

    def __init__(self, moments: int, seed: int) -> None:
        self.moments, self.chance = moments, random.Random(seed)
        self.real = sets._publish
        self.caught = {"old": 0, "new": 0, "absent": 0}

    def __call__(self, stage: Path, out: Path, files: tuple[Listed, ...], run: Run) -> None:
        self.names = [file.name for file in files]
        earlier_set(out, run.command, self.names)
        pristine = out.parent / "pristine"
        shutil.copytree(out, pristine)
        took = self.time_one(stage, out, files, run)
        for _ in range(self.moments):
            put_back(pristine, out)
            pid = self.child(stage, out, files, run)
            time.sleep(self.chance.uniform(0.0, took))
            os.kill(pid, signal.SIGKILL)
            os.waitpid(pid, 0)
            self.check(out, files)
        put_back(pristine, out)
        shutil.rmtree(pristine)
        self.real(stage, out, files, run)

    def child(self, stage: Path, out: Path, files: tuple[Listed, ...], run: Run) -> int:
        """A process that has just begun to put the files in place; answers its number."""
        reading, writing = os.pipe()
        pid = os.fork()
        if pid == 0:
            try:
                os.write(writing, b"x")
                self.real(stage, out, files, run)
            finally:
                os._exit(0)
        os.read(reading, 1)
        os.close(reading)
        os.close(writing)
        return pid

    def time_one(self, stage: Path, out: Path, files: tuple[Listed, ...], run: Run) -> float:
        pid = self.child(stage, out, files, run)
        began = time.monotonic()
        os.waitpid(pid, 0)
        return time.monotonic() - began

    def check(self, out: Path, files: tuple[Listed, ...]) -> None:
        new = {file.name: file for file in files}

        def kinds() -> dict[str, str]:
            there = {name: listed(out / name) for name in self.names}
            return {name: "new" if one == new[name] else "old" for name, one in there.items() if one is not None}

        found = kinds()
        assert len(set(found.values())) <= 1, f"old beside new: {found}"
        for run in read_manifest(out):
            assert all(listed(out / file.name) == file for file in run.files), "a set that is named is not whole"
        named = {name for run in read_manifest(out) for name in run.names}
        self.caught[next(iter(found.values())) if set(self.names) <= named else "absent"] += 1
        refuse_unusable(out)  # what the next run of any command does first
        after = kinds()
        assert sorted(after) == sorted(self.names)
        assert len(set(after.values())) == 1
        assert [path.name for path in out.iterdir() if path.name.startswith(".")] == []
        assert check_set(out).whole


def earlier_set(out: Path, command: str, names: list[str]) -> None:
    """What an earlier run of the command left, each file with other contents, and one that is written no longer."""
    for name in (*names, "of-an-earlier-run.txt"):
        (out / name).write_text(f"earlier {name}", encoding="utf-8")
    files = [listed(out / name) for name in (*names, "of-an-earlier-run.txt")]
    earlier = begun(command, (Listed("site.toml", 1, "0" * 64),))
    run = Run(earlier.run, command, earlier.tool, earlier.time, earlier.inputs, tuple(one for one in files if one))
    (out / MANIFEST).write_bytes(as_manifest([run]))


def put_back(pristine: Path, out: Path) -> None:
    """Make a folder as it was, in place: the command holds files in it open."""
    for path in out.iterdir():
        if path.is_dir():
            shutil.rmtree(path)
        else:
            path.unlink()
    shutil.copytree(pristine, out, dirs_exist_ok=True)


def killed_while_publishing(command: str, moments: int, folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    site = small_yard(folder / "yard")
    killer = KilledWhilePublishing(moments, seed=12)
    monkeypatch.setattr(sets, "_publish", killer)
    with pytest.raises(SystemExit) as end:
        main([command, str(site), *WORDS[command], "--out", str(folder / "out")])
    assert end.value.code in (0, 1)
    assert sum(killer.caught.values()) == moments
    if moments >= 200:
        assert all(killer.caught.values()), killer.caught
    found = check_set(folder / "out")
    assert found.whole
    assert found.others == ()


@pytest.mark.parametrize(
    ("command", "moments"),
    [
        pytest.param("order", 80, marks=pytest.mark.slow),
        pytest.param("shape", 40, marks=pytest.mark.slow),
        *(pytest.param(command, 200, marks=pytest.mark.fuzz) for command in ("order", "shape", "export")),
    ],
)
def test_commands_killed_at_many_moments_while_they_put_their_files_in_place(
    command: str, moments: int, quick_disk: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    killed_while_publishing(command, moments, quick_disk, monkeypatch)


def started(root: Path, folder: Path, *words: object) -> subprocess.Popen[bytes]:
    """A command in a process of its own, with a temporary folder of its own."""
    (folder / "tmp").mkdir(exist_ok=True)
    around = {**os.environ, "PYTHONPATH": str(root), "TMPDIR": str(folder / "tmp"), "PYTHONDONTWRITEBYTECODE": "1"}
    command = [sys.executable, "-m", "cli.main", *map(str, words)]
    return subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, env=around)


@pytest.mark.parametrize(
    "number",
    [
        *(pytest.param(number, marks=pytest.mark.slow) for number in (signal.SIGKILL, signal.SIGTERM)),
        *(pytest.param(number, marks=pytest.mark.fuzz) for number in (signal.SIGHUP, signal.SIGINT)),
    ],
)
def test_an_order_ended_at_moments_all_through_leaves_nothing(root: Path, tmp_path: Path, number: int) -> None:
    site, out = small_yard(tmp_path / "yard"), tmp_path / "out"
    began = time.monotonic()
    process = started(root, tmp_path, "order", site, "--out", out)
    process.communicate(timeout=200)
    took, chance = time.monotonic() - began, random.Random(number)
    before = {path.name: path.read_bytes() for path in out.iterdir()}
    for _ in range(3):
        process = started(root, tmp_path, "order", site, "--out", out)
        time.sleep(took * chance.uniform(0.3, 1.0))
        process.send_signal(number)
        said = process.communicate(timeout=200)[1]
        assert b"Traceback" not in said
        # Python ends by a signal of its own before our first line runs; from then on the status is ours.
        assert process.returncode in (0, 128 + number, -number)
        if number != signal.SIGKILL:
            assert [path.name for path in out.iterdir() if path.name.startswith(".")] == []
        assert list((tmp_path / "tmp").iterdir()) == []
        refuse_unusable(out)
        assert {path.name for path in out.iterdir()} == set(before)
        assert check_set(out).whole


@pytest.mark.parametrize("place", ["out", "yard/new/out"])
def test_a_folder_that_may_not_be_written_is_refused_before_any_work(quick_disk: Path, place: str) -> None:
    """As a user that is not root where this runs as root: no mode of a folder stops root."""
    site, out = small_yard(quick_disk / "yard"), quick_disk / "out"
    out.mkdir()
    quick_disk.chmod(0o755)
    for folder in (out, site.parent):
        folder.chmod(0o555)
    reading, writing = os.pipe()
    pid = os.fork()
    if pid == 0:
        try:
            if os.getuid() == 0:
                os.setuid(65534)
            begin_run(quick_disk / place, "order", site)
        except OutputError as error:
            os.write(writing, str(error).encode())
        finally:
            os._exit(0)
    os.close(writing)
    os.waitpid(pid, 0)
    told = f"{quick_disk / place}: the results cannot be written (Permission denied); nothing was changed."
    assert os.read(reading, 1000).decode() == told
    os.close(reading)
    assert list(out.iterdir()) == []
    for folder in (out, site.parent):
        folder.chmod(0o755)


@pytest.mark.slow
def test_two_orders_at_once_leave_the_set_of_one(root: Path, tmp_path: Path) -> None:
    site, out = small_yard(tmp_path / "yard"), tmp_path / "out"
    runs = [started(root, tmp_path, "order", site, "--out", out) for _ in range(2)]
    for process in runs:
        said = process.communicate(timeout=300)[1]
        assert process.returncode == 0, said
    found = check_set(out)
    assert found.whole
    assert len(found.runs) == 1
    assert [path.name for path in out.iterdir() if path.name.startswith(".")] == []


@pytest.mark.slow
def test_a_command_waits_for_a_held_folder_and_then_refuses(root: Path, tmp_path: Path) -> None:
    site, out = small_yard(tmp_path / "yard"), tmp_path / "out"
    out.mkdir()
    with sets.folder_locked(out):
        process = started(root, tmp_path, "order", site, "--out", out)
        said = process.communicate(timeout=200)[1]
    assert process.returncode == 2
    assert b"another run is writing into this folder" in said
    assert list(out.iterdir()) == []


@pytest.mark.slow
@pytest.mark.parametrize("most", [0, 1000, 20_000])
def test_an_order_on_a_full_disk_changes_nothing(root: Path, tmp_path: Path, most: int) -> None:
    """A limit on the size of any file stands in for the full disk: the system refuses the write in the same way."""
    site, out = small_yard(tmp_path / "yard"), tmp_path / "out"
    out.mkdir()
    (out / "order.csv").write_text("of last week", encoding="utf-8")
    command = [sys.executable, "-B", "-m", "cli.main", "order", str(site), "--out", str(out)]
    run = subprocess.run(
        command,
        capture_output=True,
        timeout=200,
        env={**os.environ, "PYTHONPATH": str(root)},
        preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (most, most)),
        check=False,
    )
    assert run.returncode == 2, run.stderr
    assert b"the results cannot be written" in run.stderr
    assert [path.name for path in out.iterdir()] == ["order.csv"]
    assert (out / "order.csv").read_text(encoding="utf-8") == "of last week"


def test_a_clock_that_was_set_back_changes_nothing(tmp_path: Path) -> None:
    """Which run came last is told by the order of the runs, not by their times."""
    out = tmp_path / "out"
    out.mkdir()
    for hour, text in (("23", "first"), ("01", "second")):
        run = begun("order", (Listed("site.toml", 1, text[0] * 64),))
        late = Run(run.run, run.command, run.tool, f"2026-05-01T{hour}:00:00+00:00", run.inputs)
        with sets.staged(out, late) as stage:
            (stage / "order.csv").write_text(text, encoding="utf-8")
    assert (out / "order.csv").read_text(encoding="utf-8") == "second"
    assert [run.time[11:13] for run in check_set(out).runs] == ["01"]


def test_a_run_that_is_at_work_is_told_by_the_check(tmp_path: Path) -> None:
    (tmp_path / ".hummock-x").mkdir()
    (tmp_path / ".hummock-x/record.json").write_text("{}", encoding="utf-8")
    with pytest.raises(InputError, match="was stopped while it did"):
        check_set(tmp_path)
