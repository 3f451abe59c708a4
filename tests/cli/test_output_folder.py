"""Where results may go: never half a run, never over a stranger's files, one message where nothing can be written."""

from __future__ import annotations

import errno
import json
import os
import resource
from pathlib import Path

import pytest
from small_yard import small_yard

from cli.folder import begin_run, refuse_unusable, results_in
from cli.main import main
from terrain.errors import OutputError


def run(out: Path, *names: str, fault: BaseException | None = None) -> None:
    """A run that writes files of these names and then meets its fault, if it has one."""
    with results_in(out) as aside:
        for name in names:
            (aside / name).write_text("new", encoding="utf-8")
        if fault is not None:
            raise fault


def test_a_failed_run_leaves_the_folder_as_it_was(tmp_path: Path) -> None:
    (tmp_path / "plan.png").write_text("of last week", encoding="utf-8")
    with pytest.raises(RuntimeError, match="half way"):
        run(tmp_path, "plan.png", fault=RuntimeError("half way"))
    assert [path.name for path in tmp_path.iterdir()] == ["plan.png"]
    assert (tmp_path / "plan.png").read_text(encoding="utf-8") == "of last week"


def test_a_failed_run_removes_the_folders_it_made(tmp_path: Path) -> None:
    with pytest.raises(KeyboardInterrupt):
        run(tmp_path / "a/b", "plan.png", fault=KeyboardInterrupt())
    assert list(tmp_path.iterdir()) == []


def test_a_finished_run_moves_every_file_and_keeps_strangers(tmp_path: Path) -> None:
    out = tmp_path / "a/b"
    out.mkdir(parents=True)
    (out / "notes.txt").write_text("mine", encoding="utf-8")
    (out / "plan.png").write_text("old", encoding="utf-8")
    run(out, "plan.png")
    assert {path.name: path.read_text(encoding="utf-8") for path in out.iterdir()} == {
        "notes.txt": "mine",
        "plan.png": "new",
    }


def test_a_file_where_the_folder_should_be_is_refused_before_any_work(tmp_path: Path) -> None:
    (tmp_path / "out").write_text("a file", encoding="utf-8")
    for out in (tmp_path / "out", tmp_path / "out/deeper"):
        with pytest.raises(OutputError, match="is a file"):
            refuse_unusable(out)
    assert refuse_unusable(tmp_path / "new/deeper") is None


def test_a_folder_where_a_result_belongs_is_refused(tmp_path: Path) -> None:
    (tmp_path / "plan.png").mkdir()
    with pytest.raises(OutputError, match=r"plan\.png: a folder stands"):
        run(tmp_path, "a.txt", "plan.png")
    assert [path.name for path in tmp_path.iterdir()] == ["plan.png"]


@pytest.mark.skipif(not Path("/proc").is_dir(), reason="needs a place that nobody can write, root neither")
def test_an_unwritable_folder_is_refused() -> None:
    with pytest.raises(OutputError, match="cannot be written"):
        run(Path("/proc/hummock"), "plan.png")


@pytest.mark.parametrize("wrapped", ["", "__cause__", "__context__"])
def test_a_full_disk_is_one_message_that_names_the_folder_asked_for(wrapped: str, tmp_path: Path) -> None:
    full = OSError(errno.ENOSPC, os.strerror(errno.ENOSPC), str(tmp_path / ".hummock-x/plan.png"))
    fault: Exception = full
    if wrapped:
        fault = OutputError("in other words") if wrapped == "__cause__" else ValueError("a writer that could not close")
        setattr(fault, wrapped, full)
    with pytest.raises(OutputError, match=r"out: .*No space left") as caught:
        run(tmp_path / "out", "plan.png", fault=fault)
    assert ".hummock" not in str(caught.value)
    assert list(tmp_path.iterdir()) == []


def test_any_other_fault_of_the_system_keeps_its_own_name(tmp_path: Path) -> None:
    with pytest.raises(FileNotFoundError, match="nowhere"):
        run(tmp_path / "out", fault=FileNotFoundError(errno.ENOENT, "not there", "nowhere"))


def test_the_command_refuses_a_file_in_place_of_its_folder(
    tmp_path: Path, root: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "out").write_text("a file", encoding="utf-8")
    with pytest.raises(SystemExit) as end:
        main(["shape", str(root / "examples/alder-bend/site.toml"), "--out", str(tmp_path / "out")])
    out, err = capsys.readouterr()
    assert end.value.code == 2
    assert out == ""
    assert "is a file" in err
    assert "Traceback" not in err


@pytest.mark.slow
def test_the_command_leaves_nothing_behind_on_a_full_disk(tmp_path: Path, root: Path, hummock) -> None:
    """A limit of 64 kB on any file stands in for the full disk: the system refuses the write in the same way."""

    def limit_files() -> None:
        resource.setrlimit(resource.RLIMIT_FSIZE, (65536, 65536))

    out = tmp_path / "out"
    ended = hummock("shape", root / "examples/alder-bend/site.toml", "--out", out, preexec_fn=limit_files)
    assert ended.returncode == 2
    assert ended.stdout == ""
    assert ended.stderr.startswith(f"hummock: {out}: the results cannot be written")
    assert "Traceback" not in ended.stderr
    assert list(tmp_path.iterdir()) == []


SMALLEST = {".pdf": "%PDF-1.7\n%%EOF\n", ".json": "{}"}  # that can be read back


def listed_run(out: Path, site: Path, command: str, *names: str) -> None:
    """A run of a command that writes files of these names."""
    with results_in(out, begin_run(out, command, site)) as aside:
        for name in names:
            (aside / name).write_text(SMALLEST.get(Path(name).suffix, command), encoding="utf-8")


def checked(folder: Path, capsys: pytest.CaptureFixture[str], *words: str) -> tuple[object, str, str]:
    with pytest.raises(SystemExit) as end:
        main(["export", "--check", str(folder), *words])
    return end.value.code, *capsys.readouterr()


@pytest.mark.slow
def test_a_torn_set_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    site, out = small_yard(tmp_path), tmp_path / "out"
    listed_run(out, site, "shape", "plan.pdf", "summary.json")
    listed_run(out, site, "order", "order.pdf")
    status, said, _ = checked(out, capsys)
    assert (status, "every set is whole" in said) == (0, True)
    (out / "plan.pdf").unlink()
    (out / "order.pdf").write_text("touched", encoding="utf-8")
    status, said, _ = checked(site, capsys)  # the site file stands for its results
    assert status == 1
    assert "Missing: plan.pdf." in said
    assert "Not as their run wrote them: order.pdf." in said
    found = json.loads(checked(out, capsys, "--json")[1])
    assert (found["whole"], found["missing"], found["changed"]) == (False, ["plan.pdf"], ["order.pdf"])


def test_runs_on_two_states_of_a_yard_are_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    site, out = small_yard(tmp_path), tmp_path / "out"
    listed_run(out, site, "shape", "plan.pdf")
    (tmp_path / "shots.csv").write_text("x,y,elevation\n0,0,1\n", encoding="utf-8")
    listed_run(out, site, "order", "order.pdf")
    status, said, _ = checked(out, capsys)
    assert status == 1
    assert "did not read the same site" in said


def test_a_folder_without_a_set_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    status, said, told = checked(tmp_path, capsys)
    assert (status, said) == (2, "")
    assert "there is no manifest.json here" in told


def test_an_output_folder_that_leads_elsewhere_is_used_only_where_the_user_names_it(tmp_path: Path) -> None:
    """A folder that comes by mail may hold a link called out, to the home of the one who opens it."""
    from cli.options import out_folder

    site, home = tmp_path / "yard" / "site.toml", tmp_path / "home"
    home.mkdir()
    site.parent.mkdir()
    assert out_folder(site, None) == site.parent / "out"
    (site.parent / "out").symlink_to(home)
    with pytest.raises(OutputError, match=r"leads out of the folder .* --out "):
        out_folder(site, None)
    assert out_folder(site, home) == home
    (site.parent / "results").mkdir()
    (site.parent / "out").unlink()
    (site.parent / "out").symlink_to("results")
    assert out_folder(site, None) == site.parent / "out"


def test_a_held_file_is_named_before_any_work(tmp_path: Path) -> None:
    site, out = small_yard(tmp_path), tmp_path / "out"
    listed_run(out, site, "order", "order.xlsx")
    (out / "order.xlsx").chmod(0o444)
    with pytest.raises(OutputError, match=r"order\.xlsx: this file is read-only"):
        begin_run(out, "order", site)
    assert begin_run(out, "shape", site).files == ()
