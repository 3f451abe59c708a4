"""What stands on a narrow terminal: measures in one piece, and no signs of the terminal's for who wants none."""

from __future__ import annotations

import re

import pytest
from rich.text import Text

from cli.terminal import labelled, on_terminal
from terrain.units import show_length, show_volume

MEASURES = [
    *(show_length(metres, units) for metres in (0.02, 0.1, 0.6032, 1.25, 14.0) for units in ("ft", "m")),
    *(show_volume(m3, units) for m3 in (0.003, 0.4, 20.3) for units in ("ft", "m")),
    "44 gal/min",
    "1,200 sq ft",
    "21 %",
    "2 ft 4 1/2 in",
]


def printed(words: str | Text, capsys: pytest.CaptureFixture[str]) -> str:
    with on_terminal() as console:
        console.print(labelled([("Label", words)]))
    return capsys.readouterr().out


@pytest.mark.parametrize("wide", range(30, 64, 3))
def test_no_measure_is_broken_over_two_lines(
    wide: int, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("COLUMNS", str(wide))
    out = printed(Text("; then as much as ".join(MEASURES), style="bold"), capsys)
    assert max(len(line) for line in out.splitlines()) <= wide
    assert [measure for measure in MEASURES if measure not in out] == []
    assert re.fullmatch(r"[\x20-\x7e\n]*", out)


def test_who_wants_no_colour_gets_plain_text_though_a_terminal_is_forced(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.delenv("NO_COLOR", raising=False)
    monkeypatch.setenv("FORCE_COLOR", "1")
    assert "\x1b" in printed("12 in", capsys)
    monkeypatch.setenv("NO_COLOR", "1")
    assert "\x1b" not in printed("12 in", capsys)
