"""What somebody who watches the terminal is told while machine code is made, which takes the first run ten seconds."""

from __future__ import annotations

import os
import signal
import threading
import time
from typing import Any

import pytest
from rich.progress import Progress

from cli.progress import progress_shown


def test_a_run_that_compiles_says_so_and_one_that_does_not_says_nothing(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    from numba import njit

    monkeypatch.setenv("FORCE_COLOR", "1")  # a terminal, whatever the tests run in
    monkeypatch.setenv("COLUMNS", "100")
    more = njit(lambda number: number + 1)
    with progress_shown() as progress:
        progress("modelling the ground")
        assert more(1) == 2
        progress("shaping the berm")
    told = capsys.readouterr().err
    assert "modelling the ground: compiling, for this first run alone" in told
    with progress_shown() as progress:
        progress("modelling the ground")
        assert more(1) == 2  # machine code is there
    assert "compiling" not in capsys.readouterr().err


@pytest.mark.skipif(not hasattr(os, "fork"), reason="this system cannot fork")
def test_a_fork_that_compiles_leaves_the_display_alone(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """The display's lock may be held where a fork is made: whoever asks for it there waits for ever."""
    from numba import njit

    monkeypatch.setenv("FORCE_COLOR", "1")
    more, bars, add = njit(lambda number: number + 2), list[Progress](), Progress.add_task

    def noted(bar: Progress, *words: Any, **more: Any) -> Any:
        bars.append(bar)
        return add(bar, *words, **more)

    monkeypatch.setattr(Progress, "add_task", noted)
    with progress_shown() as progress:
        progress("modelling the ground")
        held, go = threading.Event(), threading.Event()

        def hold() -> None:
            with bars[0]._lock:
                held.set()
                go.wait(60.0)

        holder = threading.Thread(target=hold)
        holder.start()
        assert held.wait(60.0)
        child = os.fork()
        if child == 0:
            os._exit(more(1) != 3)
        ended = 0
        for _ in range(200):
            ended, status = os.waitpid(child, os.WNOHANG)
            if ended:
                break
            time.sleep(0.05)
        if not ended:
            os.kill(child, signal.SIGKILL)
            os.waitpid(child, 0)
        go.set()
        holder.join()
    assert ended
    assert status == 0
