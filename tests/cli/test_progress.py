"""What somebody who watches the terminal is told while machine code is made, which takes the first run ten seconds."""

from __future__ import annotations

import pytest

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
