"""The page of a new yard without a browser: what it takes, refuses, keeps and saves, and who may speak to it."""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path

import pytest
from live_yards import Talk, opened_frame, running
from websockets.exceptions import ConnectionClosed, InvalidStatus

from terrain.errors import InputError, OutputError
from terrain.flow import run_site
from terrain.interview import EntryError
from terrain.site import read_site
from terrain.soil import sure_words
from viewer.web.live.guard import MOST_MESSAGE
from viewer.web.new.asked import Edit, read_edit
from viewer.web.new.draft import NAMES, yard_draft_path
from viewer.web.new.room import NewRoom
from viewer.web.new.session import NewYard

GRID = [(x, y) for x in (0, 13, 26) for y in (0, 6, 12)]


def new_yard(folder: Path) -> NewYard:
    folder.mkdir(exist_ok=True)

    def write(files: Mapping[str, bytes]) -> None:
        for name, text in files.items():
            (folder / name).write_bytes(text)

    return NewYard(folder, "ft", write)


def edited(yard: NewYard, *edits: tuple[str, str, int, str]) -> NewYard:
    for what, key, row, text in edits:
        yard.edit(Edit(what, 1, key, row, text))
        yard.keep_draft()
    return yard


SIZE = ("set", "bed", 0, "26 by 12")
SHOTS = [
    ("set", "measured", 0, "rod"),
    *(("add", "shots", 0, f"{x}, {y}, {4.1 + 0.04 * y:.2f}") for x, y in GRID),
]


def test_a_refused_line_names_its_row_and_changes_nothing(tmp_path: Path) -> None:
    yard = edited(new_yard(tmp_path), SIZE, *SHOTS)
    before = yard.state()
    for edit, words in (
        (("add", "shots", 0, "4, 6"), "holds 2 figures. Accepted: along, out, reading"),
        (("add", "shots", 0, "13, 6, 4"), "stands where an earlier one does"),
        (("add", "shots", 0, "4, 6, 40"), "is out of range. Accepted: 0 ft to 32 ft"),
        (("change", "shots", 2, "four, 6, 4"), "four"),
        (("change", "shots", 99, "4, 6, 4"), "there is no row 99. Accepted: 1 to 9."),
        (("add", "trees", 0, "oak, 57, 2, 3"), "the two tapes do not meet"),
        (("set", "slope", 0, "steep"), "steep"),
        (("set", "house", 0, "above 3"), "does not say where the house is"),
        (("set", "units", 0, "yards"), "is no unit of a tape"),
        (("set", "colour", 0, "red"), "no question 'colour'"),
    ):
        with pytest.raises(InputError, match=words) as told:
            edited(yard, edit)
        if isinstance(told.value, EntryError):
            assert told.value.key == edit[1]
        assert yard.state() == before
    with pytest.raises(EntryError) as elsewhere:  # what stands fits no more: the row that does not is named
        edited(yard, ("set", "measured", 0, "string"), ("change", "shots", 4, "13, 0, 400"))
    assert (elsewhere.value.key, elsewhere.value.row) == ("shots", 4)


def test_steps_go_back_and_forth_and_work_outlives_the_page(tmp_path: Path) -> None:
    yard = edited(new_yard(tmp_path), SIZE, *SHOTS, ("drop", "shots", 2, ""))
    assert [len(yard.filled.answers.shots), yard.unsaved] == [8, True]
    yard.go(yard.history.undone())
    assert len(yard.filled.answers.shots) == 9
    yard.go(yard.history.redone())
    assert len(yard.filled.answers.shots) == 8
    assert [path.name for path in tmp_path.iterdir()] == ["site.unsaved.json"]
    again = new_yard(tmp_path)
    assert again.filled == yard.filled
    assert again.opening_words().startswith("10 entries of an earlier time were found and brought back.")
    assert new_yard(tmp_path / "other").opening_words() == ""


def test_what_is_saved_is_what_the_figures_are_of(tmp_path: Path) -> None:
    yard = edited(new_yard(tmp_path), SIZE, *SHOTS, ("set", "high", 0, "near"))
    assert yard.worked is not None
    yard.figures(yard.worked, 3)
    assert yard.last is not None
    told = sure_words(yard.last[1].order, "ft")
    assert yard.save() == f"Saved site.toml, shots.csv, bed.csv in {tmp_path}."
    assert (yard.unsaved, yard_draft_path(tmp_path).exists()) == (False, False)
    assert yard.next_command == f"hummock shape {tmp_path / 'site.toml'}"
    assert list(sure_words(run_site(read_site(tmp_path / "site.toml")).order, "ft")) == list(told)
    # Saved again from the same page, without the shots now: their file goes with them.
    edited(yard, ("set", "measured", 0, "no"))
    assert yard.unsaved
    yard.save()
    assert not (tmp_path / "shots.csv").exists()
    assert 'surface    = "flat"' in (tmp_path / "site.toml").read_text(encoding="utf-8")


def test_the_first_three_places_that_are_marked_carry_a_surface(tmp_path: Path) -> None:
    yard = edited(new_yard(tmp_path), SIZE, SHOTS[0])
    places = []
    for _ in range(3):
        assert yard.worked is not None
        marked = opened_frame(yard.figures(yard.worked, 1)[1])["next"]
        assert marked["order"] == ""  # a single place of a walk is worth nothing that could be told
        assert {2.0 * float(marked[name]) % 1.0 for name in ("along", "out")} == {0.0}  # half feet
        edited(yard, ("add", "shots", 0, f"{marked['along']}, {marked['out']}, 4.5"))
        places.append(marked["at"])
    assert not yard.filled.waits
    (ax, ay), (bx, by), (cx, cy) = places
    spread = abs((bx - ax) * (cy - ay) - (cx - ax) * (by - ay)) / 2.0
    assert spread > 0.35 * yard.filled.answers.outline.area  # three corners of a rectangle span half of it


def test_nothing_of_anybody_else_is_ever_written_over(tmp_path: Path) -> None:
    (tmp_path / "shots.csv").write_text("mine", encoding="utf-8")
    with pytest.raises(OutputError, match=r"shots.csv already there, nothing was written"):
        new_yard(tmp_path)
    (tmp_path / "shots.csv").unlink()
    yard = edited(new_yard(tmp_path), SIZE)
    yard.save()
    edited(yard, ("set", "top", 0, "18"))
    resumed = new_yard(tmp_path)  # its own files, with unsaved work beside them
    assert resumed.unsaved
    (tmp_path / "site.toml").write_text("changed by hand", encoding="utf-8")
    for begin in (resumed.save, lambda: new_yard(tmp_path)):
        with pytest.raises(OutputError, match=r"site.toml already there.*kept in site.unsaved.json"):
            begin()
    assert (tmp_path / "site.toml").read_text(encoding="utf-8") == "changed by hand"
    (tmp_path / "site.toml").unlink()
    (tmp_path / "elsewhere.toml").write_text("far away", encoding="utf-8")
    (tmp_path / "site.toml").symlink_to(tmp_path / "elsewhere.toml")
    with pytest.raises(OutputError, match=r"site.toml already there"):
        resumed.save()
    assert (tmp_path / "elsewhere.toml").read_text(encoding="utf-8") == "far away"


@pytest.mark.parametrize(
    "text",
    [
        "",
        "[]",
        "{" * 5000,
        '{"format": "hummock-new-yard/1"}',
        '{"format": "hummock-new-yard/1", "entries": {"top": ["1e999 ft"]}, "saved": {}}',
        '{"format": "hummock-new-yard/1", "entries": {"bed": "26 by 12"}, "saved": {}}',
        '{"format": "hummock-new-yard/1", "entries": {}, "saved": {"site.toml": 3}}',
        '{"format": "hummock-unsaved/1", "now": {}}',
    ],
)
def test_a_draft_that_is_none_is_left_as_it_is(tmp_path: Path, text: str) -> None:
    yard_draft_path(tmp_path).write_text(text, encoding="utf-8")
    with pytest.raises(OutputError, match=r"holds no unsaved yard that can be read; nothing was changed"):
        new_yard(tmp_path)
    assert yard_draft_path(tmp_path).read_text(encoding="utf-8") == text


def test_a_draft_names_no_file_but_its_own(tmp_path: Path) -> None:
    saved = {"../evil.txt": "x", "site.toml": "y"}
    draft = {"format": "hummock-new-yard/1", "entries": {"top": ["18"]}, "saved": saved}
    yard_draft_path(tmp_path).write_text(json.dumps(draft), encoding="utf-8")
    assert set(new_yard(tmp_path).saved) <= set(NAMES)


def test_nothing_is_saved_before_it_is_settled(tmp_path: Path) -> None:
    yard = edited(new_yard(tmp_path), SIZE, *SHOTS, ("set", "high", 0, "far"))
    with pytest.raises(InputError, match=r"you say that the far side is high.*Settle this, then save"):
        yard.save()
    assert yard.worked is None
    two = edited(new_yard(tmp_path / "two"), SIZE, *SHOTS[:3])
    assert two.worked is not None
    assert two.worked.shots == ()
    with pytest.raises(InputError, match="2 shots cannot carry a surface"):
        two.save()
    assert not any((tmp_path / name).exists() for name in NAMES)


@pytest.mark.parametrize(
    "text",
    [
        None, "", "[]", "3", "[" * 100_000, '{"do": "shape"}', '{"do": ["set"]}', '{"do": {"a": 1}}',
        '{"do": "set", "key": 3, "text": "x"}', '{"do": "set", "key": "bed", "text": ["26 by 12"]}',
        '{"do": "set", "key": "bed", "text": null}',
    ],
)  # fmt: skip
def test_odd_messages_are_refused_in_words(text: str | None) -> None:
    with pytest.raises(InputError, match=r"The page: (sent|asked)"):
        read_edit(text)


def test_odd_numbers_count_as_none() -> None:
    for number in ("-1", "true", "1e999", '"3"', "3.5", "1" * 400, "null"):
        assert read_edit(f'{{"do": "drop", "key": "shots", "row": {number}, "seq": {number}}}') == Edit(
            "drop", 0, "shots", 0, ""
        )


def test_only_its_own_page_speaks_to_it_and_whatever_it_says_it_stands(tmp_path: Path) -> None:
    with running(NewRoom(new_yard(tmp_path))) as guard:
        address, own = f"ws://{guard.hosts[0]}/live", guard.origins[0]
        cookie = guard.cookie.partition(";")[0]
        for origin, given in (("http://example.org", cookie), (None, cookie), (own, ""), (own, f"{cookie}x")):
            with pytest.raises(InvalidStatus, match="403"):
                Talk(address, origin, given)
        talk = Talk(address, own, cookie)
        assert talk.hear("hello")["unsaved"] is False
        talk.socket.send(b"\x00\x01")
        talk.hear("refused")
        talk.say(do="set", seq=1, key="bed", text="9" * 5000)
        assert "this text has 5000 letters. Accepted: 200 at most." in talk.hear("refused", seq=1)["text"]
        talk.say(do="tape", seq=2, text="far")
        assert talk.hear("refused", seq=2)["key"] == ""
        talk.say(do="tape", seq=3, text="26 ft")
        assert talk.hear("taped", seq=3)["metres"] == pytest.approx(26 * 0.3048, abs=1e-12)
        talk.say(do="set", seq=4, key="bed", text="26 by <b>12</b>")
        refused = talk.hear("refused", seq=4)
        assert (refused["key"], refused["row"]) == ("bed", 0)
        talk.say(do="set", seq=5, key="bed", text="26 by 12")
        assert talk.hear("state", seq=5)["questions"]["bed"]["told"] == ["26 ft along, 12 ft out, 4 corners"]
        other = Talk(address, own, cookie)
        assert "another window" in other.hear("busy")["text"]
        other.close()
        talk.socket.send("x" * (MOST_MESSAGE + 10))  # a picture, or anything that large, is never taken
        with pytest.raises(ConnectionClosed):
            talk.hear("nothing")
        back = Talk(address, own, cookie)
        assert back.hear("hello")["questions"]["bed"]["texts"] == ["26 by 12"]
        back.close()
    assert not (tmp_path / "site.toml").exists()
    assert yard_draft_path(tmp_path).exists()
