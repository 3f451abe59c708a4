"""Drawings made on the second core are those that one core makes, and whatever becomes of the fork they are there."""

from __future__ import annotations

import os
import signal
import time
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from viewer import beside
from viewer.beside import done_beside, on_both_cores
from viewer.page.lettering import Type
from viewer.page.page import _letters, new_page

if not hasattr(os, "fork"):
    pytest.skip("this system cannot fork", allow_module_level=True)


@pytest.fixture(autouse=True)
def two_cores(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(beside, "_cores", lambda: 2)


def test_the_work_is_done_in_another_process_before_the_block_is_left(tmp_path: Path) -> None:
    made = tmp_path / "made"
    with done_beside(lambda: made.write_text(str(os.getpid()))):
        here = os.getpid()
    assert int(made.read_text()) != here


@pytest.mark.parametrize("end", [lambda: os._exit(3), lambda: os.kill(os.getpid(), signal.SIGKILL), lambda: 1 / 0])
def test_work_whose_fork_comes_to_grief_is_done_here(tmp_path: Path, end: object) -> None:
    made, here = tmp_path / "made", os.getpid()

    def work() -> None:
        if os.getpid() != here:
            end()  # type: ignore[operator]
        made.write_text(str(os.getpid()))

    with done_beside(work):
        pass
    assert int(made.read_text()) == here


def test_what_the_work_raises_is_raised() -> None:
    def full() -> None:
        raise OSError(28, "No space left on device")

    with pytest.raises(OSError, match="No space left"), done_beside(full):
        pass


def test_a_block_that_is_left_early_ends_the_fork(monkeypatch: pytest.MonkeyPatch) -> None:
    started, forked, fork = time.monotonic(), list[int](), os.fork

    def noted() -> int:
        forked.append(fork())
        return forked[-1]

    monkeypatch.setattr(os, "fork", noted)
    with pytest.raises(KeyboardInterrupt), done_beside(lambda: time.sleep(60.0)):
        raise KeyboardInterrupt
    assert time.monotonic() - started < 30.0
    with pytest.raises(ChildProcessError):
        os.waitpid(forked[0], os.WNOHANG)


def test_one_core_does_one_after_the_other(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(beside, "_cores", lambda: 1)
    done: list[str] = []
    with done_beside(lambda: done.append("beside")):
        done.append("here")
    assert done == ["here", "beside"]


def test_a_picture_has_the_colours_that_the_drawing_library_saves(tmp_path: Path) -> None:
    page = new_page(200.0, 90.0)
    page.text(20.0, 40.0, "Alder 3/4", Type(14.0))
    page.save(tmp_path / "ours.png", dpi=110.0)
    with _letters():
        page.figure.savefig(tmp_path / "theirs.png", dpi=110.0)
    with Image.open(tmp_path / "ours.png") as ours, Image.open(tmp_path / "theirs.png") as theirs:
        assert ours.mode == "RGB"
        assert ours.info["Software"] == "hummock"
        assert ours.info["dpi"] == pytest.approx((110.0, 110.0), abs=0.1)
        assert np.array_equal(np.asarray(ours), np.asarray(theirs.convert("RGB")))


def test_each_of_several_things_is_made_in_order_by_two_processes() -> None:
    here = os.getpid()
    for count in range(6):
        made = on_both_cores(lambda one: (one**2, os.getpid() == here), range(count))
        assert made == [(one**2, one % 2 == 0 or count < 2) for one in range(count)]


@pytest.mark.parametrize("end", [lambda: os._exit(3), lambda: os.kill(os.getpid(), signal.SIGKILL), lambda: 1 / 0])
def test_what_a_fork_that_came_to_grief_should_have_made_is_made_here(end: object) -> None:
    here = os.getpid()

    def work(one: int) -> int:
        if os.getpid() != here:
            end()  # type: ignore[operator]
        return one**2

    assert on_both_cores(work, [1, 2, 3]) == [1, 4, 9]


def test_more_than_a_pipe_holds_and_what_cannot_be_handed_on_come_all_the_same() -> None:
    assert on_both_cores(lambda one: bytes(one * 10**6), [1, 2, 3]) == [bytes(one * 10**6) for one in (1, 2, 3)]
    assert [one() for one in on_both_cores(lambda one: lambda: one, [1, 2, 3])] == [1, 2, 3]  # no pickle of these


def test_what_goes_wrong_in_either_process_is_raised() -> None:
    for bad in (0, 1):
        with pytest.raises(ZeroDivisionError):
            on_both_cores(lambda one, bad=bad: 1 / (one - bad), [0, 1])  # type: ignore[misc]


def test_on_one_core_all_is_made_here(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(beside, "_cores", lambda: 1)
    assert on_both_cores(lambda _: os.getpid(), [1, 2, 3]) == 3 * [os.getpid()]
