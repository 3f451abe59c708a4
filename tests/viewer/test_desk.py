"""What a process that stood ready draws is what one process draws, and whatever becomes of it the work is done."""

from __future__ import annotations

import os
import signal
import time
from pathlib import Path

import pytest
from shipped import study_of

from terrain.files import summary_of
from terrain.flow import Study
from terrain.review.check_list import CHECKS
from terrain.soil import round_offset
from viewer import beside
from viewer.beside import done_beside, packed
from viewer.desk import NOBODY, second_desk
from viewer.page import load_letters, subject_of
from viewer.sheets import draw_sections

if not hasattr(os, "fork"):
    pytest.skip("this system cannot fork", allow_module_level=True)


@pytest.fixture(autouse=True)
def two_cores(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(beside, "_cores", lambda: 2)


def note(path: Path, here: int, end: str = "") -> None:
    """Write down which process this is; `end`: how it comes to grief, anywhere but `here`."""
    if os.getpid() != here:
        if end == "exit":
            os._exit(3)
        if end == "killed":
            os.kill(os.getpid(), signal.SIGKILL)
        if end == "raises":
            raise ValueError(end)
    path.write_text(str(os.getpid()))


def nothing() -> None:
    """Load nothing."""


def test_the_job_is_done_by_the_process_that_loaded_for_it(tmp_path: Path) -> None:
    loaded, made = tmp_path / "loaded", tmp_path / "made"
    with second_desk(lambda: loaded.write_text(str(os.getpid()))) as desk:
        with desk.doing(note, made, os.getpid()):
            pass
        assert made.read_text() == loaded.read_text() != str(os.getpid())


@pytest.mark.parametrize("end", ["exit", "killed", "raises"])
def test_a_job_that_comes_to_grief_there_is_done_here(tmp_path: Path, end: str) -> None:
    made = tmp_path / "made"
    with second_desk(nothing) as desk, desk.doing(note, made, os.getpid(), end):
        pass
    assert made.read_text() == str(os.getpid())


def test_a_process_that_died_before_the_job_came_is_not_missed(tmp_path: Path) -> None:
    made = tmp_path / "made"
    with second_desk(lambda: os._exit(1)) as desk:
        time.sleep(0.1)
        with desk.doing(note, made, os.getpid(), "x" * 200_000):  # more than a pipe holds
            pass
    assert made.exists()


def test_a_job_that_cannot_leave_this_process_is_done_all_the_same(tmp_path: Path) -> None:
    made = tmp_path / "made"
    with second_desk(nothing) as desk, desk.doing(lambda: made.write_text("done")):
        pass
    assert made.read_text() == "done"


def test_what_the_job_raises_is_raised(tmp_path: Path) -> None:
    with pytest.raises(FileNotFoundError), second_desk(nothing) as desk, desk.doing(note, tmp_path / "no" / "x", 0):
        pass


def sleeps(path: Path) -> None:
    """Two processes that would write for a minute."""

    def on() -> None:
        path.write_text(str(os.getpid()))
        time.sleep(60.0)

    with done_beside(on):
        time.sleep(60.0)


def test_a_block_that_is_left_early_ends_the_process_and_its_own_fork(tmp_path: Path) -> None:
    grandchild = tmp_path / "grandchild"

    def interrupted() -> None:
        with second_desk(nothing) as desk, desk.doing(sleeps, grandchild):
            while not (grandchild.exists() and grandchild.read_text()):
                time.sleep(0.01)
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        interrupted()
    number = int(grandchild.read_text())
    for _ in range(500):
        try:
            if " Z " in Path(f"/proc/{number}/stat").read_text():
                return
            os.kill(number, 0)
        except (FileNotFoundError, ProcessLookupError):
            return
        time.sleep(0.01)
    pytest.fail("the fork of the process still runs")


def test_one_core_has_no_second_process(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setattr(beside, "_cores", lambda: 1)
    made = tmp_path / "made"
    with second_desk(lambda: pytest.fail("it loaded")) as desk, desk.doing(note, made, 0):
        assert not made.exists()
    assert made.read_text() == str(os.getpid())


@pytest.mark.parametrize("name", ["alder-bend", "larkspur-rise", "tansy-hollow"])
def test_a_yard_comes_out_of_the_other_process_as_it_went_in(name: str) -> None:
    """Digs, streams, checks and all: a study that could not go would be drawn by a fork that loads all anew."""
    import pickle

    study = study_of(name)
    there = pickle.loads(packed(study))
    assert isinstance(there, Study)
    assert told(there) == told(study)
    assert [verdict.check for verdict in there.review.checks] == [verdict.check for verdict in study.review.checks]
    points = study.proposal.mesh.points[:50, :2]
    for one, other in zip(there.proposal.digs, study.proposal.digs, strict=True):
        assert one.bottom(points) == pytest.approx(other.bottom(points), abs=0.0)


def told(study: Study) -> dict[str, object]:
    return summary_of(study, round_offset(study.proposal.mesh, study.site.bed.sod))


def test_no_two_checks_share_the_name_that_they_travel_by() -> None:
    assert len({check.name for check in CHECKS}) == len(CHECKS)


def test_a_drawing_is_the_same_to_the_byte_whoever_draws_it(tmp_path: Path) -> None:
    subject, folders = subject_of(study_of("alder-bend")), [tmp_path / "there", tmp_path / "here"]
    for folder in folders:
        folder.mkdir()
    with second_desk(load_letters) as desk, desk.doing(draw_sections, subject, folders[0]):
        pass
    with NOBODY.doing(draw_sections, subject, folders[1]):
        pass
    there, here = ((folder / "sections.png").read_bytes() for folder in folders)
    assert there == here
