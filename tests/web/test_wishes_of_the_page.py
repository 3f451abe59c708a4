"""What a page may ask for, and what is refused with one message."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, strategies as st
from live_yards import copied_yard
from shapely.geometry import Polygon

from terrain.errors import InputError
from terrain.site.model import CrestPoint
from terrain.site.read import read_site
from viewer.web.live.draft import draft_path, plain_wish, read_draft, remove_draft, write_draft
from viewer.web.live.history import History
from viewer.web.live.save import same_wish
from viewer.web.live.wish import Wish, on_known_places, read_wish, wish_of_site, with_wish

GOOD: dict[str, object] = {
    "outline": [[[0.0, 0.0], [6.0, 0.0], [6.0, 4.0], [0.0, 4.0]]],
    "crest": [[3.0, 2.0, 0.4]],
    "max_slope": 0.25,
    "toe": None,
    "gentle_side": "south",
    "soil": None,
}
JSON = st.recursive(
    st.none() | st.booleans() | st.floats() | st.text(max_size=5) | st.integers(),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.sampled_from(sorted(GOOD)), inner, max_size=6),
    max_leaves=12,
)


def test_places_count_from_the_corner_of_the_page() -> None:
    wish = read_wish(GOOD, (100.0, 50.0))
    assert wish.outline.bounds == (100.0, 50.0, 106.0, 54.0)
    assert wish.crest == (CrestPoint(103.0, 52.0, 0.4),)


@pytest.mark.parametrize(
    ("key", "value", "words"),
    [
        ("outline", [[[0, 0], [1, 1]]], "fewer than three corners"),
        ("outline", [[[0, 0], [4, 4], [4, 0], [0, 4]]], "crosses itself"),
        ("outline", [[[0, 0], [1e-3, 0], [1e-3, 1e-3]]], "encloses no ground"),
        ("outline", [[[0.0, float(k)] for k in range(1001)]], "1001 points"),
        ("outline", [[[0, 1e9], [1, 0], [1, 1]]], "a place"),
        ("crest", [], "the crest"),
        ("crest", [[1, 2]], "a high point"),
        ("crest", [[1, 2, math.nan]], "a height"),
        ("crest", [[1, 2, 40.0]], "a height"),
        ("crest", [[1, 2, "../../etc/passwd"]], "a height"),
        ("max_slope", 2.0, "the slope"),
        ("max_slope", True, "the slope"),
        ("toe", -1, "the toe"),
        ("gentle_side", "up", "the gentle side"),
        ("soil", 0, "the soil on hand"),
    ],
)
def test_a_wish_that_makes_no_sense_is_refused_in_words(key: str, value: object, words: str) -> None:
    with pytest.raises(InputError, match=words):
        read_wish({**GOOD, key: value}, (0.0, 0.0))


@given(JSON)
def test_any_message_is_a_wish_or_one_refusal(message: object) -> None:
    try:
        told = read_wish(message, (0.0, 0.0))
    except InputError as error:
        told = str(error)
    assert isinstance(told, Wish) or 0 < len(told) < 400


def test_a_high_point_outside_the_bed_is_refused_by_the_site_itself(tmp_path: Path) -> None:
    site = read_site(copied_yard(tmp_path))
    wish = wish_of_site(site)
    with pytest.raises(InputError, match="outside the bed"):
        with_wish(site, replace(wish, crest=(CrestPoint(0.0, 0.0, 0.3),)))


def test_what_nobody_moved_is_not_changed_by_the_way_there_and_back(tmp_path: Path) -> None:
    site = read_site(copied_yard(tmp_path))
    wish = wish_of_site(site)
    corner = (4.846319999999999, -0.24384)
    rings = [[[x - corner[0], y - corner[1]] for x, y in wish.outline.exterior.coords[:-1]]]
    crest = [[point.x - corner[0], point.y - corner[1], point.height] for point in wish.crest]
    crest[1][0] += 0.25
    sent = {**GOOD, "outline": rings, "crest": crest, "toe": wish.toe, "gentle_side": None}
    back = on_known_places(read_wish(json.loads(json.dumps(sent)), corner), [wish])
    assert back.outline == wish.outline
    assert (back.crest[0], back.crest[2]) == (wish.crest[0], wish.crest[2])
    assert back.crest[1].x == pytest.approx(wish.crest[1].x + 0.25, abs=1e-9)


def test_steps_are_undone_and_redone_in_order() -> None:
    first, second, third = (read_wish({**GOOD, "max_slope": slope}, (0.0, 0.0)) for slope in (0.25, 0.2, 0.15))
    history = History(first).changed(second).changed(third)
    assert history.undone().undone().now == first
    assert history.undone().undone().undone().now == first
    assert history.undone().redone() == history
    assert history.undone().changed(first).future == ()
    assert history.changed(third) is history


def test_unsaved_work_is_brought_back_and_a_broken_draft_is_not_offered(tmp_path: Path) -> None:
    path = copied_yard(tmp_path)
    site = read_site(path)
    now = replace(wish_of_site(site), max_slope=0.2)
    write_draft(path, now, None)
    found = read_draft(path, site)
    assert found is not None
    assert same_wish(found[0], now)
    assert found[1] is None
    for broken in ("{", "[]", json.dumps({"now": {**plain_wish(now), "crest": [[0, 0, 1]]}, "kept": None})):
        draft_path(path).write_text(broken)
        assert read_draft(path, site) is None
        assert draft_path(path).exists()
    remove_draft(path)
    assert not draft_path(path).exists()


def test_a_hole_in_the_bed_is_kept_on_the_way(tmp_path: Path) -> None:
    ring = Polygon([(0, 0), (9, 0), (9, 9), (0, 9)], [[(3, 3), (3, 5), (5, 5), (5, 3)]])
    wish = replace(read_wish(GOOD, (0.0, 0.0)), outline=ring)
    assert read_wish(plain_wish(wish), (0.0, 0.0)).outline.equals(ring)
