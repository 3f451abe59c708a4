"""Things of the yard in a site file: every kind, a place, a line or an outline, one message a slip."""

from __future__ import annotations

from pathlib import Path

import pytest
from invented_yard import FOOT, SITE, refusal, yard

from terrain.site.things import KINDS


def with_thing(kind: str, line: str, more: str = "") -> str:
    return f'{SITE}\n[[thing]]\nkind = "{kind}"\nname = "one"\nline = {line}\n{more}\n'


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_is_read_where_it_stands(tmp_path: Path, kind: str) -> None:
    (thing,) = yard(tmp_path, with_thing(kind, "[[4, 2]]", 'height = "3 ft"')).thing
    assert (thing.kind, thing.name, thing.height) == (kind, "one", pytest.approx(3 * FOOT))
    assert thing.line == (pytest.approx((4 * FOOT, 2 * FOOT)),)
    assert thing.shape.geom_type == "Point"


@pytest.mark.parametrize(
    ("kind", "line", "shape"),
    [
        ("street", "[[0, 0], [50, 0]]", "LineString"),
        ("septic", "[[4, 2], [8, 2], [8, 6]]", "Polygon"),
        ("fence", "[[4, 2], [8, 2], [8, 6]]", "LineString"),
        ("hydrant", "[4, 2]", "Point"),
    ],
)
def test_a_line_an_outline_and_a_place_are_told_apart(tmp_path: Path, kind: str, line: str, shape: str) -> None:
    assert yard(tmp_path, with_thing(kind, line)).thing[0].shape.geom_type == shape


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (with_thing("hydrent", "[[4, 2]]"), 'Did you mean "hydrant"?'),
        (with_thing("lamp", "[[4, 2]]"), "Accepted: street, corner, hydrant"),
        (with_thing("hydrant", "[[4, 2], [4, 2]]"), "repeats the point"),
        (with_thing("hydrant", "4"), "is not a line"),
        (with_thing("hydrant", "[[4000, 2]]"), "off the yard"),
        (with_thing("corner", "[[4, 2], [5, 2]]"), "a corner of 2 points"),
        (with_thing("septic", "[[0, 0], [4, 4], [4, 0], [0, 4]]"), "its outline crosses itself"),
        (with_thing("wall", "[[4, 2], [9, 2]]", "height = 0"), "above zero"),
        (with_thing("wall", "[[4, 2], [9, 2]]", "depth = 1"), "is not a known key"),
    ],
)
def test_a_slip_is_refused_with_what_would_do(tmp_path: Path, text: str, words: str) -> None:
    assert words in refusal(tmp_path, text)
