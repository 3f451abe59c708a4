"""A wish that is refused leaves the last accepted one standing: in the steps, the draft, the file and on the page."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from copy import deepcopy
from pathlib import Path
from typing import Any

import pytest
from live_yards import Served, copied_yard, served, talking

from terrain.errors import InputError
from terrain.site.read import read_site
from viewer.web.live.asked import LET_GO, MOST_WAITING, MOVING, PageMessage, Queue
from viewer.web.live.draft import draft_path
from viewer.web.live.engine import shape_fully, shape_quickly
from viewer.web.live.history import History
from viewer.web.live.wish import Wish, read_wish, wish_of_site

Told = dict[str, Any]


def far_away(wish: Told) -> Told:
    wish["crest"][0][:2] = [-40.0, -40.0]
    return wish


def crossing(wish: Told) -> Told:
    ring = wish["outline"][0]
    ring[0], ring[len(ring) // 2] = ring[len(ring) // 2], ring[0]
    return wish


def two_corners(wish: Told) -> Told:
    wish["outline"] = [wish["outline"][0][:2]]
    return wish


def a_thread(wish: Told) -> Told:
    """A bed a few millimetres wide: no fault in itself, but hardly a grid has room for a mound in it."""
    (x, y, height), *_ = wish["crest"]
    wish["outline"] = [[[x - 3.0, y - 0.004], [x + 3.0, y - 0.004], [x + 3.0, y + 0.004], [x - 3.0, y + 0.004]]]
    wish["crest"] = [[x, y, height]]
    return wish


def under_the_trees(wish: Told) -> Told:
    """A bed all inside the keep-off of a tree."""
    x, y = wish["tree"]
    wish["outline"] = [[[x - 0.2, y - 0.2], [x + 0.2, y - 0.2], [x + 0.2, y + 0.2], [x - 0.2, y + 0.2]]]
    wish["crest"] = [[x, y, 0.3]]
    return wish


def no_number(wish: Told) -> Told:
    wish["max_slope"] = float("nan")
    return wish


BAD: dict[str, Callable[[Told], Told]] = {
    one.__name__: one for one in (far_away, crossing, two_corners, under_the_trees, no_number)
}


@pytest.fixture(scope="module", params=["alder-bend", pytest.param("larkspur-rise", marks=pytest.mark.slow)])
def page(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    with served(copied_yard(tmp_path_factory.mktemp("yard"), request.param)) as running:
        yield running


def started_anew(page: Served) -> None:
    page.session.history = History(page.session.saved)


@pytest.mark.parametrize("name", BAD)
def test_what_stands_after_a_refusal_is_the_last_wish_that_was_taken(page: Served, name: str) -> None:
    started_anew(page)
    with talking(page) as talk:
        first = talk.hear("hello")["wish"]
        good = {**deepcopy(first), "max_slope": 0.21}
        talk.say(do="settle", seq=1, wish=good)
        assert talk.hear("state", seq=1)["undo"] is True
        taken = page.session.history
        tree = page.session.yard["trees"][0]["at"]  # type: ignore[index]
        bad = BAD[name]({**deepcopy(good), "tree": tree})
        talk.say(do="shape", seq=2, wish=bad)
        assert "wish" not in talk.hear("refused", seq=2)
        talk.say(do="settle", seq=3, wish=bad)
        refused = talk.hear("refused", seq=3)
        assert refused["text"]
        assert same(refused["wish"], good)
        assert (refused["undo"], refused["redo"], refused["unsaved"]) == (True, False, True)
        assert talk.hear("shape", seq=3)["say"] == "shape"
        assert page.session.history == taken
        talk.say(do="undo", seq=4)
        undone = talk.hear("state", seq=4)
        assert (undone["undo"], undone["unsaved"]) == (False, False)
        assert same(undone["wish"], first)


def test_where_the_coarse_grid_has_no_room_the_whole_study_decides(page: Served) -> None:
    started_anew(page)
    with talking(page) as talk:
        thread = a_thread(deepcopy(talk.hear("hello")["wish"]))
        wish = page.session.read(thread)
        with pytest.raises(InputError, match="no ground"):
            shape_quickly(page.session.bench, wish)
        try:
            shape_fully(page.session.bench, wish)
            taken = True
        except InputError:
            taken = False
        talk.say(do="settle", seq=1, wish=thread)
        told = talk.hear("state", "refused", seq=1)
        assert (told["say"] == "state") == taken
        assert (page.session.history.now == wish) == taken
        assert talk.hear("shape", on="full", seq=1)["panels"]["order"]


def same(told: Told, wish: Told) -> bool:
    keys = ("outline", "crest", "max_slope", "toe", "gentle_side", "soil")
    return read_wish({k: told[k] for k in keys}, (0.0, 0.0)) == read_wish({k: wish[k] for k in keys}, (0.0, 0.0))


@pytest.mark.slow
def test_saving_after_a_refusal_saves_what_stands(tmp_path: Path) -> None:
    path = copied_yard(tmp_path)
    with served(path) as page, talking(page) as talk:
        good = {**talk.hear("hello")["wish"], "max_slope": 0.2}
        talk.say(do="settle", seq=1, wish=good)
        talk.say(do="settle", seq=2, wish=far_away(deepcopy(good)))
        talk.say(do="save", seq=2)
        talk.hear("done")
        talk.hear("state", unsaved=False)
        assert page.session.history.now == page.session.saved
    assert not draft_path(path).exists()
    site = read_site(path)
    assert site.berm.max_slope == pytest.approx(0.2, abs=1e-12)
    assert wish_of_site(site) == page.session.saved


def test_what_is_shown_after_saving_is_what_the_file_holds_to_the_last_digit(tmp_path: Path) -> None:
    path = copied_yard(tmp_path)
    with served(path) as page, talking(page) as talk:
        wish = talk.hear("hello")["wish"]
        wish["crest"][0][0] += 0.123456789
        talk.say(do="settle", seq=1, wish=wish)
        talk.say(do="save", seq=2)
        told = talk.hear("state", seq=2)
        assert told["unsaved"] is False
        assert page.session.history.now == wish_of_site(read_site(path))
        talk.say(do="undo", seq=3)
        assert talk.hear("state", seq=3)["unsaved"] is True


def test_a_wish_that_only_the_whole_study_refuses_is_taken_out_again(page: Served, monkeypatch: Any) -> None:
    """Shaped while the hand moves, refused at rest: shown, kept, saved or undone, it never stays."""
    started_anew(page)
    real = page.session.study

    def study(wish: Wish) -> object:
        if wish.max_slope == 0.17:
            raise InputError("[berm]", "has no room here.")
        return real(wish)

    monkeypatch.setattr(page.session, "study", study)
    with talking(page) as talk:
        first = talk.hear("hello")["wish"]
        talk.say(do="settle", seq=1, wish={**first, "max_slope": 0.19})
        talk.hear("state", seq=1)
        talk.say(do="settle", seq=2, wish={**first, "max_slope": 0.17})
        refused = talk.hear("refused", seq=2)
        assert refused["wish"]["max_slope"] == pytest.approx(0.19, abs=1e-12)
        talk.say(do="settle", seq=3, wish={**first, "max_slope": 0.17})
        talk.say(do="keep", seq=3)
        talk.say(do="save", seq=3)
        refused = talk.hear("refused", seq=3)
        assert refused["kept"] is None
        assert refused["wish"]["max_slope"] == pytest.approx(0.19, abs=1e-12)
    steps = (page.session.history.now, *page.session.history.past, *page.session.history.future)
    assert all(wish.max_slope != 0.17 for wish in steps)
    assert read_site(page.session.path).berm.max_slope == pytest.approx(0.25, abs=1e-12)


def wishes_of(*slopes: float) -> list[Wish]:
    outline = [[[0.0, 0.0], [6.0, 0.0], [6.0, 4.0], [0.0, 4.0]]]
    rest = {"outline": outline, "crest": [[3.0, 2.0, 0.4]], "toe": None, "gentle_side": None, "soil": None}
    return [read_wish({**rest, "max_slope": slope}, (0.0, 0.0)) for slope in slopes]


def test_a_wish_is_taken_out_of_every_step() -> None:
    a, b, c = wishes_of(0.25, 0.2, 0.15)
    steps = History(a).changed(b).changed(c)
    assert steps.without(c) == History(b, (a,))
    assert steps.without(b) == History(c, (a,))
    assert steps.undone().without(c) == History(b, (a,))
    assert steps.undone().undone().without(a) == History(b, (), (c,))
    assert History(a).without(a) == History(a)
    assert steps.keeping(c).without(c).kept is None


def test_of_wishes_that_wait_only_the_newest_is_done_and_deeds_keep_their_order() -> None:
    line = Queue()
    for seq in range(1, 5000):
        line.ask(PageMessage(MOVING if seq % 3 else LET_GO, seq))
    assert len(line.waiting) <= MOST_WAITING // 2 + 2
    line.ask(PageMessage("undo", 5000))
    line.ask(PageMessage(MOVING, 5001))
    line.ask(PageMessage(LET_GO, 5002))
    assert [(one.what, one.seq) for one in line.waiting][-2:] == [("undo", 5000), (LET_GO, 5002)]  # type: ignore[union-attr]
    assert line.newest == 5002


def test_a_flood_of_deeds_is_refused_in_words_and_waits_nowhere() -> None:
    line = Queue()
    for seq in range(MOST_WAITING):
        line.ask(PageMessage("undo", seq))
    with pytest.raises(InputError, match="at once"):
        line.ask(PageMessage("undo", MOST_WAITING))
    assert len(line.waiting) == MOST_WAITING
