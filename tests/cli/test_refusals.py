"""Input that cannot be worked with: one clear message, status 2, no traceback, nothing written."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from cli.main import main


@pytest.fixture
def yard(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Path:
    """The starter folder, written by the real command; its figures are known to run."""
    folder = tmp_path / "yard"
    with pytest.raises(SystemExit) as end:
        main(["new", str(folder)])
    assert end.value.code == 0
    capsys.readouterr()
    return folder


def refusal(capsys: pytest.CaptureFixture[str], *words: object) -> str:
    """The one message with which the command refuses; it must end with status 2 and say nothing else."""
    with pytest.raises(SystemExit) as end:
        main([str(word) for word in words])
    out, err = capsys.readouterr()
    assert end.value.code == 2
    assert out == ""
    assert err.startswith("hummock: ")
    assert "Traceback" not in err
    assert "\x1b[" not in err
    return err


def replace(path: Path, old: str, new: str) -> None:
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), encoding="utf-8")


def rewrite(path: Path, rows: list[str]) -> None:
    path.write_text("\n".join(rows) + "\n", encoding="utf-8")


# Each case: what is wrong, the file and the edit that makes it so, and words that the message must hold.
EDITS = {
    "a missing column": (
        "shots.csv",
        "point,x,y,elevation,code",
        "point,x,y,girth,code",
        ["shots.csv", "elevation"],
    ),
    "text for a number": ("shots.csv", "1,0.0,0.0,", "1,0.0,zero,", ["shots.csv", "zero"]),
    "an unknown key": ("site.toml", "max_slope =", "max_slop =", ["max_slop", "max_slope"]),
    "a slope of nothing": ("site.toml", 'max_slope = "4:1"', "max_slope = 0", ["max_slope", "0"]),
    "a negative height": ("site.toml", '"22 in"', '"-22 in"', ["crest", "-22 in"]),
    "a crest outside the bed": ("site.toml", "[26.0, 17.0,", "[46.0, 3.0,", ["crest", "46", "outside"]),
    "a missing measurement file": ("site.toml", '"shots.csv"', '"shoots.csv"', ["shoots.csv"]),
    "an unknown unit": ("site.toml", 'units = "ft"', 'units = "furlong"', ["units", "furlong"]),
    "a unit of the wrong kind": ("site.toml", 'sod     = "2 in"', 'sod     = "2 cu yd"', ["sod", "2 cu yd"]),
    "broken toml": ("site.toml", "[survey]", "[survey", ["site.toml"]),
}


@pytest.mark.parametrize("case", EDITS)
def test_a_bad_site_is_refused_in_one_message(case: str, yard: Path, capsys: pytest.CaptureFixture[str]) -> None:
    name, old, new, words = EDITS[case]
    replace(yard / name, old, new)
    message = refusal(capsys, "shape", yard / "site.toml")
    for word in words:
        assert word in message
    assert not (yard / "out").exists()


SHOTS = {
    "two shots": (["0,0,100", "50,40,101"], ["2 shots", "at least 3"]),
    "all in a line": (["0,0,100", "25,20,101", "50,40,102", "12.5,10,100.4"], ["line"]),
    "one place, two elevations": (["0,0,100", "50,0,100", "50,40,101", "0,40,101", "0,0,103"], ["0"]),
}


@pytest.mark.parametrize("case", SHOTS)
def test_shots_that_make_no_ground_are_refused(case: str, yard: Path, capsys: pytest.CaptureFixture[str]) -> None:
    rows, words = SHOTS[case]
    rewrite(yard / "shots.csv", ["x,y,elevation", *rows])
    message = refusal(capsys, "shape", yard / "site.toml")
    assert "shots.csv" in message
    for word in words:
        assert word in message
    assert not (yard / "out").exists()


def test_an_outline_that_crosses_itself_is_refused(yard: Path, capsys: pytest.CaptureFixture[str]) -> None:
    rewrite(yard / "bed.csv", ["x,y", "10,8", "40,24", "40,8", "10,24"])
    message = refusal(capsys, "shape", yard / "site.toml")
    assert "bed.csv" in message
    assert "cross" in message


def test_a_site_file_that_is_not_there_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert "nowhere.toml" in refusal(capsys, "shape", tmp_path / "nowhere.toml")


def test_a_folder_in_place_of_the_site_file_is_refused(yard: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert str(yard) in refusal(capsys, "shape", yard)


def test_a_missing_argument_is_one_line(capsys: pytest.CaptureFixture[str]) -> None:
    message = refusal(capsys, "shape")
    assert "SITE.toml" in message
    assert message.count("\n") == 1


def test_an_unknown_command_names_the_nearest(capsys: pytest.CaptureFixture[str]) -> None:
    message = refusal(capsys, "shpe", "site.toml")
    assert "shape" in message
    assert message.count("\n") == 1


def test_an_unknown_option_is_one_line(capsys: pytest.CaptureFixture[str]) -> None:
    message = refusal(capsys, "shape", "site.toml", "--jsn")
    assert "--json" in message
    assert message.count("\n") == 1


def test_new_never_overwrites(yard: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (yard / "bed.csv").write_text("mine", encoding="utf-8")
    message = refusal(capsys, "new", yard)
    assert "already there" in message
    assert (yard / "bed.csv").read_text(encoding="utf-8") == "mine"


def test_refusals_hold_in_a_process_of_its_own(yard: Path, hummock: Callable[..., object]) -> None:
    replace(yard / "site.toml", 'max_slope = "4:1"', "max_slope = 0")
    ended = hummock("shape", yard / "site.toml", "--json")
    assert ended.returncode == 2
    assert ended.stdout == ""
    assert ended.stderr.count("\n") == 1
    assert "max_slope" in ended.stderr
