"""What stands on a narrow terminal: measures in one piece, and no signs of the terminal's for who wants none."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from rich.console import RenderableType
from rich.table import Table
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


def beside_a_label(words: Text) -> RenderableType:
    return labelled([("Label", words)])


def in_a_line(words: Text) -> RenderableType:
    return words


def in_a_table(words: Text) -> RenderableType:
    table = Table(box=None, padding=(0, 2, 0, 0))
    table.add_column("")
    table.add_column("by tape", overflow="fold")
    table.add_row("N1", words.plain)
    return table


def printed(words: RenderableType, capsys: pytest.CaptureFixture[str]) -> str:
    with on_terminal() as console:
        console.print(words)
    return capsys.readouterr().out


@pytest.mark.parametrize("place", [beside_a_label, in_a_line, in_a_table])
@pytest.mark.parametrize("wide", range(30, 64, 3))
def test_no_measure_is_broken_over_two_lines(
    place: Callable[[Text], RenderableType],
    wide: int,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.setenv("COLUMNS", str(wide))
    out = printed(place(Text("; then as much as ".join(MEASURES), style="bold")), capsys)
    assert max(len(line) for line in out.splitlines()) <= wide
    assert [measure for measure in MEASURES if measure not in out] == []
    assert re.fullmatch(r"[\x20-\x7e\n]*", out)


def test_who_wants_no_colour_gets_plain_text_though_a_terminal_is_forced(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.delenv("NO_COLOR", raising=False)
    monkeypatch.setenv("FORCE_COLOR", "1")
    assert "\x1b" in printed(Text("12 in", style="bold"), capsys)
    monkeypatch.setenv("NO_COLOR", "1")
    assert "\x1b" not in printed(Text("12 in", style="bold"), capsys)
