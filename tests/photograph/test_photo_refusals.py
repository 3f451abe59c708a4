"""What `photo` cannot work with is refused in one line that says what would do."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from PIL import Image
from ready_command import Run


@pytest.fixture
def files(tmp_path: Path) -> dict[str, Path]:
    Image.new("RGB", (400, 300), (90, 120, 80)).save(tmp_path / "yard.jpg")
    Image.new("RGB", (300, 300)).save(tmp_path / "square.png")
    (tmp_path / "broken.jpg").write_bytes(b"\xff\xd8\xff\xe0" + b"\x00" * 40)
    Image.new("RGB", (40, 30)).save(tmp_path / "tiny.png")
    (tmp_path / "marks.csv").write_text("point,u,v\n51,10,10\n", encoding="utf-8")
    return {path.name: path for path in tmp_path.iterdir()}


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--picture", "none.jpg", "--marks", "marks.csv"), "none.jpg"),
        (("--picture", "broken.jpg", "--marks", "marks.csv"), "this is not a readable photograph"),
        (("--picture", "marks.csv", "--marks", "marks.csv"), "Accepted: a JPEG or a PNG"),
        (("--picture", "tiny.png", "--marks", "marks.csv"), "the picture is 40 by 30 pixels"),
        (
            ("--picture", "yard.jpg", "--marks", "marks.csv", "--mask", "square.png"),
            "Accepted: a mask of the same shape",
        ),
        (("--picture", "yard.jpg", "--marks", "marks.csv", "--sun", "high"), '"high" is not two numbers'),
        (("--picture", "yard.jpg", "--marks", "marks.csv", "--sun", "90 -4"), "cannot stand -4 degrees high"),
        (("--picture", "yard.jpg", "--marks", "marks.csv", "--when", "2026-06-21T12:00-05:00"), "needs both"),
        (
            ("--picture", "yard.jpg", "--marks", "marks.csv", "--when", "noon", "--place", "45 -93"),
            "is no time with its zone",
        ),
        (
            ("--picture", "yard.jpg", "--marks", "marks.csv", "--when", "2026-06-21T00:30-05:00", "--place", "45 -93"),
            "the sun is down there",
        ),
        (("--picture", "yard.jpg", "--marks", "marks.csv", "--lens", "0"), "--lens"),
    ],
)
def test_one_line_says_what_would_do(
    hummock: Callable[..., Run], coarse: Path, files: dict[str, Path], tmp_path: Path, words: tuple[str, ...], told: str
) -> None:
    given = [files.get(word, word) for word in words]
    ran = hummock(
        "photo", coarse / "examples" / "alder-bend" / "site.toml", *given, "--out", tmp_path / "out", cwd=tmp_path
    )
    assert ran.returncode == 2
    assert told in " ".join(ran.stderr.split())
    assert "Traceback" not in ran.stderr
    assert not (tmp_path / "out" / "photo.png").exists()
