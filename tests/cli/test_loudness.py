"""--quiet, --verbose and the colour of what is said, for every command alike."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from pathlib import Path

import click
import pytest

from cli.main import COMMANDS, hummock as group
from cli.progress import progress_shown

SITE = "examples/larkspur-rise/site.toml"


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_can_be_told_how_much_to_say(name: str) -> None:
    """Asked for twice, as completion and help do, a command has the options once."""
    for _ in range(2):
        command = group.get_command(click.Context(group), name)
    assert command is not None
    options = [word for param in command.params for word in param.opts]
    for word in ("--quiet", "-q", "--verbose", "-v"):
        assert options.count(word) == 1


def test_quiet_prints_nothing_of_what_went_well(hummock: Callable, tmp_path: Path) -> None:
    for words, file in ((("new", "yard"), "yard/site.toml"), (("field", "--units", "m"), "field.html")):
        ended = hummock(*words, "--quiet", cwd=tmp_path)
        assert (ended.returncode, ended.stdout, ended.stderr) == (0, "", "")
        assert (tmp_path / file).is_file()


def test_quiet_still_refuses_aloud_and_hands_over_the_summary(hummock: Callable, tmp_path: Path) -> None:
    ended = hummock("order", tmp_path / "none.toml", "-q")
    assert ended.returncode == 2
    assert "none.toml" in ended.stderr
    ended = hummock("field", "--units", "m", "--quiet", "--json", cwd=tmp_path)
    assert isinstance(json.loads(ended.stdout), dict)


@pytest.mark.slow
def test_verbose_tells_each_step_in_a_pipe_and_changes_no_result(
    hummock: Callable, coarse: Path, tmp_path: Path
) -> None:
    plain, told = (hummock("crew", coarse / SITE, "--out", tmp_path / "out", *more) for more in ((), ("--verbose",)))
    assert told.stdout == plain.stdout
    assert plain.stderr == ""
    lines = told.stderr.splitlines()
    assert all(re.match(r" +\d+\.\d s  \S", line) for line in lines)
    steps = [line.partition(" s  ")[2] for line in lines]
    assert steps[0] == "reading the site file"
    assert {"shaping the berm", "measuring the earthwork"} <= set(steps)


def test_both_at_once_are_refused(hummock: Callable, tmp_path: Path) -> None:
    ended = hummock("new", tmp_path / "yard", "--quiet", "--verbose")
    assert ended.returncode == 2
    assert "contradict each other" in ended.stderr
    assert not (tmp_path / "yard").exists()


@pytest.mark.parametrize(("no_colour", "shown"), [("", True), ("1", False)])
def test_who_wants_no_colour_gets_no_signs_of_a_terminal_in_a_pipe(
    no_colour: str, shown: bool, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """NO_COLOR wins over FORCE_COLOR: no-color.org has it that it prevents colour whatever the user agent's default."""
    monkeypatch.setenv("FORCE_COLOR", "1")
    monkeypatch.setenv("NO_COLOR", no_colour)
    with progress_shown() as progress:
        progress("shaping the berm")
    assert ("\x1b" in capsys.readouterr().err) == shown
