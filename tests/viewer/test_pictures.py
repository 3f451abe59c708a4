"""Every drawing comes as a picture and as a vector drawing of the same content."""

from __future__ import annotations

from pathlib import Path
from xml.etree import ElementTree

import pytest
from scenario import yard

from viewer.page.subject import Subject
from viewer.pictures.named import draw_pictures
from viewer.pictures.standpoints import standpoints

SVG = "{http://www.w3.org/2000/svg}"


def subject() -> Subject:
    return Subject(*yard("m"))


def stems(drawn: Subject) -> list[str]:
    eyes = [f"eye_{stand.stem}" for stand in standpoints(drawn.site, drawn.ground)]
    assert eyes
    return ["plan", "sections", "cutfill", "slope", "hillshade", *eyes]


@pytest.mark.slow
def test_vector_drawings_hold_lines_and_words(tmp_path: Path) -> None:
    drawn = subject()
    names = draw_pictures(drawn, (), "svg", tmp_path)
    assert names == [f"{stem}.svg" for stem in stems(drawn)]
    for name in names:
        root = ElementTree.parse(tmp_path / name).getroot()
        assert root.tag == f"{SVG}svg"
        marks = sum(1 for kind in ("path", "text") for _ in root.iter(f"{SVG}{kind}"))
        assert marks > (15 if name.startswith("eye") else 50), name
        assert next(root.iter(f"{SVG}text"), None) is not None, name
    # Light and what the eye sees are pictures in their frames; all else is lines.
    pictures = {name for name in names if b"<image" in (tmp_path / name).read_bytes()}
    assert pictures == {"hillshade.svg", *(name for name in names if name.startswith("eye"))}


@pytest.mark.slow
def test_pictures_are_as_large_as_their_pages(tmp_path: Path) -> None:
    from PIL import Image

    drawn = subject()
    names = draw_pictures(drawn, (), "png", tmp_path)
    assert names == [f"{stem}.png" for stem in stems(drawn)]
    for name in names:
        with Image.open(tmp_path / name) as picture:
            assert picture.width > 1100, name  # three times the points across a phone's screen
