"""A set is whole or absent: killed, failed, or raced at every single step, a folder never holds half of two runs."""

from __future__ import annotations

import errno
import os
import signal
import sys
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from sets_on_disk import NEW, OLD, SITE_A, SITE_B, old_folder, results, visible, write

from terrain.errors import InputError, OutputError
from terrain.files.manifest import MANIFEST, Listed, Run, inputs_of, read_manifest
from terrain.files.set_check import check_set
from terrain.files.sets import folder_locked
from terrain.files.targets import refuse_held

if not hasattr(os, "fork"):
    pytest.skip("kills processes that it forks", allow_module_level=True)


@pytest.fixture
def tmp_path(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """A folder in memory where the system has one: a thousand sets wait for no disk there."""
    memory = Path("/dev/shm")
    if not os.access(memory, os.W_OK):
        yield tmp_path_factory.mktemp("sets")
        return
    with tempfile.TemporaryDirectory(dir=memory) as folder:
        yield Path(folder)


STEPS = {"os.rename", "open", "os.remove", "os.rmdir", "os.mkdir"}


def in_a_child(work: Callable[[], None], at: int, deed: Callable[[], None]) -> tuple[int, int]:
    """Run `work` in a process that does `deed` at its step `at`; answers its status and how many steps it came to."""
    reading, writing = os.pipe()
    pid = os.fork()
    if pid == 0:
        count = 0

        def hook(event: str, arguments: tuple[object, ...]) -> None:
            nonlocal count
            if event in STEPS and "__pycache__" not in str(arguments[0]):
                count += 1
                if count == at:
                    os.write(writing, b"reached")
                    deed()

        status = 0
        try:
            sys.addaudithook(hook)
            work()
        except OutputError:
            status = 2
        except OSError:
            status = 3
        finally:
            os._exit(status)
    os.close(writing)
    _, ended = os.waitpid(pid, 0)
    reached = os.read(reading, 10)
    os.close(reading)
    return ended, len(reached)


def kill() -> None:
    os.kill(os.getpid(), signal.SIGKILL)


def full() -> None:
    raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))


def not_allowed() -> None:
    raise PermissionError(errno.EACCES, os.strerror(errno.EACCES), "somewhere")


def interrupted() -> None:
    raise KeyboardInterrupt


@pytest.mark.parametrize(
    ("manifest", "every"),
    [
        pytest.param(True, 5, id="some steps"),
        pytest.param(True, 1, id="listed", marks=pytest.mark.slow),
        pytest.param(False, 1, id="from an older version", marks=pytest.mark.slow),
    ],
)
def test_killed_at_any_step_a_set_is_whole_or_absent_and_the_next_run_clears_all(
    tmp_path: Path, manifest: bool, every: int
) -> None:
    steps = 0
    for at in range(1, 200, every):
        out = old_folder(tmp_path / str(at), manifest=manifest)
        _, reached = in_a_child(lambda: write(out, "shape", SITE_B, NEW), at, kill)  # noqa: B023
        if not reached:
            break
        steps += 1
        assert_never_mixed(out)
        write(out, "trees", SITE_B, {"trees.pdf": "trees"})
        left = [path.name for path in out.iterdir() if path.name.startswith(".")]
        assert left == [], f"step {at} left {left}"
        found = results(out)
        kept = {"plan-set.pdf": "old set"} if not manifest else {}
        assert found in (OLD, {**NEW, **kept}), f"step {at}: {found}"
        assert visible(out)["notes.txt"] == "a stranger's"
        assert not check_set(out).missing
        assert not check_set(out).changed
    assert steps * every > 30


def assert_never_mixed(out: Path) -> None:
    """No set that the manifest names is torn, and no file of the old run stands beside one of the new."""
    for run in read_manifest(out):
        for file in run.files:
            assert (out / file.name).stat().st_size == file.size
    found = results(out)
    both = [found.get(name) for name in ("plan.pdf", "summary.json")]
    assert both in ([OLD["plan.pdf"], OLD["summary.json"]], [NEW["plan.pdf"], NEW["summary.json"]]) or None in both


@pytest.mark.parametrize(
    ("deed", "manifest", "every"),
    [
        (full, True, 5),
        *(
            pytest.param(*rest, 1, marks=pytest.mark.slow)
            for rest in [(full, True), (interrupted, False), (not_allowed, True)]
        ),
        *(
            pytest.param(*rest, 1, marks=pytest.mark.fuzz)
            for rest in [(full, False), (interrupted, True), (not_allowed, False)]
        ),
    ],
)
def test_failing_at_any_step_puts_everything_back(
    tmp_path: Path, deed: Callable[[], None], manifest: bool, every: int
) -> None:
    for at in range(1, 200, every):
        out = old_folder(tmp_path / str(at), manifest=manifest)
        before = visible(out)
        status, reached = in_a_child(lambda: write(out, "shape", SITE_B, NEW), at, deed)  # noqa: B023
        if not reached:
            break
        found = results(out)
        assert found in (OLD, NEW, {**NEW, "plan-set.pdf": "old set"}), f"step {at}"
        if status:
            with_kept = visible(out)
            assert with_kept == before or found != OLD, f"step {at}"
        write(out, "trees", SITE_B, {"trees.pdf": "trees"})
        assert [path.name for path in out.iterdir() if path.name.startswith(".")] == [], f"step {at}"
        assert not check_set(out).changed


def test_a_disk_that_stays_full_changes_nothing(tmp_path: Path) -> None:
    """Every file that is opened for writing fails, and goes on failing while all is put back."""
    for at in range(1, 60):
        out = old_folder(tmp_path / str(at))
        before = visible(out)
        if not _written_on_a_full_disk(out, at):
            break
        assert visible(out) == before, f"write {at}"
    assert at > 5


def _written_on_a_full_disk(out: Path, at: int) -> bool:
    """Write a set where the `at`-th opening for writing is the first to fail; tells whether any failed."""
    pid = os.fork()
    if pid == 0:
        count = 0

        def hook(event: str, arguments: tuple[object, ...]) -> None:
            nonlocal count
            if event == "open" and isinstance(arguments[2], int) and arguments[2] & (os.O_WRONLY | os.O_CREAT):
                count += 1
                if count >= at:
                    full()

        sys.addaudithook(hook)
        status = 1
        try:
            write(out, "shape", SITE_B, NEW)
            status = 0
        except OSError:
            pass
        finally:
            os._exit(status)
    return os.waitpid(pid, 0)[1] != 0


def test_what_a_run_leaves_of_others(tmp_path: Path) -> None:
    out = old_folder(tmp_path / "out")
    write(out, "shape", SITE_A, {"plan.pdf": "again", "summary.json": "again"})
    assert "plan-set.pdf" not in visible(out)  # of an earlier run of the same command
    assert check_set(out).whole
    write(out, "export", SITE_A, {"yard.glb": "1"})
    write(out, "export", SITE_A, {"yard.dxf": "2", "plan.pdf": "of the export"})
    assert {"yard.glb", "yard.dxf", "order.pdf"} <= set(visible(out))
    assert check_set(out).whole
    write(out, "suggest", SITE_B, {"summary.json": "of another yard"})
    # half of what shape wrote from the other site would stand beside it
    assert set(visible(out)) == {"summary.json", "order.pdf", "yard.glb", "yard.dxf", "plan.pdf", "notes.txt", MANIFEST}
    assert check_set(out).apart
    assert not check_set(out).whole


def test_a_file_that_somebody_changed_is_not_removed(tmp_path: Path) -> None:
    out = old_folder(tmp_path / "out")
    (out / "plan-set.pdf").write_text("with notes of the crew", encoding="utf-8")
    write(out, "shape", SITE_B, NEW)
    assert visible(out)["plan-set.pdf"] == "with notes of the crew"
    assert "plan-set.pdf" in check_set(out).others


def test_missing_and_changed_files_are_told(tmp_path: Path) -> None:
    out = old_folder(tmp_path / "out")
    assert check_set(out).whole
    (out / "plan.pdf").unlink()
    (out / "order.pdf").write_text("other ordeR", encoding="utf-8")
    found = check_set(out)
    assert (found.missing, found.changed, found.whole) == (("plan.pdf",), ("order.pdf",), False)
    (out / MANIFEST).unlink()
    with pytest.raises(InputError, match=r"no manifest\.json"):
        check_set(out)


@pytest.mark.parametrize(
    "text",
    ["", "[]", "{}", '{"format": "hummock-manifest/1", "runs": [{}]}', "[" * 100_000, "\ufeff\0", '{"format": 1e999}'],
)
def test_a_manifest_that_is_not_ours_is_refused_and_replaced(tmp_path: Path, text: str) -> None:
    out = old_folder(tmp_path / "out")
    (out / MANIFEST).write_text(text, encoding="utf-8")
    with pytest.raises(InputError):
        check_set(out)
    write(out, "shape", SITE_B, NEW)
    assert [run.command for run in check_set(out).runs] == ["shape"]


def test_a_second_run_waits_and_then_is_told(tmp_path: Path) -> None:
    out = old_folder(tmp_path / "out")
    told = pytest.raises(OutputError, match="another run is writing into this folder")
    with folder_locked(out), told, folder_locked(out, patience=0.2):
        pass
    assert results(out) == OLD
    write(out, "shape", SITE_B, NEW)
    assert results(out) == NEW


def test_many_runs_at_once_leave_the_set_of_one(tmp_path: Path) -> None:
    out = tmp_path / "out"
    out.mkdir()
    children = []
    for number in range(8):
        pid = os.fork()
        if pid == 0:
            status = 1
            try:
                files = {f"{k}.txt": f"run {number}" for k in range(20)}
                write(out, "shape", Listed("site.toml", number, "c" * 64), files)
                status = 0
            finally:
                os._exit(status)
        children.append(pid)
    assert [os.waitpid(pid, 0)[1] for pid in children] == [0] * 8
    assert len(set(results_of(out).values())) == 1
    assert check_set(out).whole
    assert [path.name for path in out.iterdir() if path.name.startswith(".")] == []


def results_of(out: Path) -> dict[str, str]:
    return {name: text for name, text in visible(out).items() if name.endswith(".txt")}


def test_files_that_are_held_or_read_only_stop_the_set_before_anything_moves(tmp_path: Path) -> None:
    import fcntl

    out = old_folder(tmp_path / "out")
    before = visible(out)
    (out / "summary.json").chmod(0o444)
    with pytest.raises(OutputError, match=r"summary\.json: this file is read-only"):
        write(out, "shape", SITE_B, NEW)
    (out / "summary.json").chmod(0o644)
    pid = holder(out / "summary.json", fcntl.lockf)
    with pytest.raises(OutputError, match=r"summary\.json: another program holds this file"):
        write(out, "shape", SITE_B, NEW)
    os.kill(pid, signal.SIGKILL)
    os.waitpid(pid, 0)
    assert visible(out) == before
    assert refuse_held(out, OLD) is None


def holder(path: Path, lock: Callable[[int, int], None]) -> int:
    """A process that has locked a file until it is killed."""
    import fcntl

    reading, writing = os.pipe()
    pid = os.fork()
    if pid == 0:
        handle = os.open(path, os.O_RDWR)
        lock(handle, fcntl.LOCK_EX)
        os.write(writing, b"x")
        signal.pause()
    os.read(reading, 1)
    return pid


def test_the_inputs_are_the_site_file_and_what_it_names(tmp_path: Path) -> None:
    home = tmp_path / "yard"
    home.mkdir()
    (tmp_path / "outside.csv").write_text("x", encoding="utf-8")
    (home / "shots.csv").write_text("x,y\n", encoding="utf-8")
    site = home / "site.toml"
    site.write_text('name="a"\n[survey]\nshots="shots.csv"\nties="../outside.csv"\n[bed]\noutline="/dev/zero"\n')
    assert [one.name for one in inputs_of(site)] == ["site.toml", "shots.csv"]
    first = Run("1", "shape", "0", "", inputs_of(site))
    (home / "shots.csv").write_text("x,z\n", encoding="utf-8")
    assert not first.reads_as(Run("2", "shape", "0", "", inputs_of(site)))
    assert inputs_of(tmp_path / "nowhere.toml") == ()
