"""What is typed on a form, in any order and changed at will, makes the same folder as the same lines of a talk."""

from __future__ import annotations

import math

import pytest
from examples_drawn import drawn
from hypothesis import given, settings, strategies as st

from terrain.errors import InputError
from terrain.interview import (
    Entries,
    EntryError,
    corner_name,
    entries_of,
    files_of,
    heard,
    read_entries,
    talk_begun,
    with_row,
    with_text,
    without_row,
)

ROWS = ("bed", "shots", "trees")
GRID = [(x, y) for x in (0, 8, 16, 24) for y in (0, 6, 12)]


def by_talk(entries: Entries, units: str = "ft") -> dict[str, str]:
    """The folder that a talk makes of the same lines: each is given where its question is asked."""
    talk, left = talk_begun(units), {key: list(texts) for key, texts in entries.items()}
    for _ in range(2000):
        if talk.done:
            break
        lines = left.get(talk.question.key, [])
        line = lines.pop(0) if lines else ""
        before = talk
        talk, said = heard(talk, line)
        assert talk != before, said
    return dict(files_of(talk.answers))


def by_form(entries: Entries, units: str = "ft") -> dict[str, str]:
    filled = read_entries(entries, units)
    assert not filled.waits
    return dict(files_of(filled.answers))


def typed(lines: dict[str, str | list[str]]) -> Entries:
    """A form that is filled in from the top to the bottom."""
    entries: Entries = {}
    for key, line in lines.items():
        for text in [line] if isinstance(line, str) else line:
            entries = with_row(entries, key, 0, text, "ft") if key in ROWS else with_text(entries, key, text)
    return entries


@st.composite
def yards(draw: st.DrawFn) -> dict[str, str | list[str]]:
    """Lines of a yard that reads: its fall, its trees and its wishes at random, any of them unknown."""
    feet = draw(st.booleans())
    small = 1.0 if feet else 0.3
    lines: dict[str, str | list[str]] = {"units": "ft" if feet else "m"}
    sized = draw(st.booleans())
    lines["bed"] = ["26 by 12" if feet else "8 x 4"] if sized else [f"{x * small:g}, {y * small:g}" for x, y in _BED]
    way = draw(st.sampled_from(["rod", "elevations", "string", "no", ""]))
    lines["measured"] = way
    if way not in ("no", ""):
        east, north = (draw(st.integers(-3, 3)) / 100.0 for _ in range(2))
        scale = {"rod": 1.0, "elevations": 1.0, "string": 12.0 if feet else 100.0}[way]
        reads = [scale * (2.0 + small * (east * x + north * y)) for x, y in GRID]
        lines["shots"] = [f"{small * x:g}, {small * y:g}, {z:.3f}" for (x, y), z in zip(GRID, reads, strict=True)]
        again = draw(st.sampled_from(["", f"{reads[0]:.3f}", f"{reads[0] + 0.3 * scale:.3f}"]))
        lines |= {"again": again, "keep": "keep", "high": draw(st.sampled_from(["", "near", "far", "left", "level"]))}
        lines["sign"] = "slip" if way != "string" else draw(st.sampled_from(["slip", "other"]))
    lines["house"] = draw(st.sampled_from(["", "none", "far 14", "left 6"]))
    trees = ["oak, 57, 30, 22", "lime, 40, A 12, B 20", "ash, 30, B 9, C 8", "elm, 41, 20, 21, near"]
    if feet:
        lines["trees"] = draw(st.lists(st.sampled_from(trees), unique=True, max_size=3))
        lines["keep_off"] = draw(st.sampled_from(["", "5", "8 ft"]))
    wishes = {"slope": ["", "mown", "3:1"], "top": ["", "18 in", "40 cm"], "price": ["", "42"], "truck": ["", "8 m3"]}
    lines |= {key: draw(st.sampled_from(choices)) for key, choices in wishes.items()}
    return lines


_BED = [(0, 0), (26, 0), (28, 9), (14, 14), (0, 12)]


@settings(max_examples=drawn(6), deadline=None)
@given(yards(), st.randoms(use_true_random=False))
def test_a_form_and_a_talk_make_the_same_folder_byte_for_byte(lines: dict, hand: object) -> None:
    alike(lines, hand)


@pytest.mark.slow
@settings(max_examples=drawn(20), deadline=None)
@given(yards(), st.randoms(use_true_random=False))
def test_many_forms_and_talks_make_the_same_folders(lines: dict, hand: object) -> None:
    alike(lines, hand)


def alike(lines: dict, hand: object) -> None:
    """Fill in a form in any order, hand the same lines to a talk, and compare the folders."""
    keys = list(lines)
    hand.shuffle(keys)  # type: ignore[attr-defined]
    # The unit decides how a corner is told, and what settles readings comes after them: the rest in any order.
    keys.sort(key=lambda key: {"units": 0, "keep": 2, "sign": 2}.get(key, 1))
    entries = typed({key: lines[key] for key in keys})
    wrong = {key for key in ("keep", "sign") if key in entries}
    asked = {key for key, _ in read_entries({k: t for k, t in entries.items() if k not in wrong}, "ft").waits}
    entries = {key: texts for key, texts in entries.items() if key not in wrong or key in asked}
    assert by_form(entries) == by_talk(entries)


def test_a_form_changed_at_will_holds_only_what_stands() -> None:
    kept = {"bed": "26 by 12", "measured": "rod", "shots": [f"{x}, {y}, {4 + y / 50}" for x, y in GRID], "top": "18"}
    entries = typed(kept)
    wild = with_row(entries, "shots", 3, "8, 5, 9.9", "ft")
    wild = with_row(wild, "trees", 0, "oak, 57, 30, 22", "ft")
    wild = with_row(wild, "shots", 0, "30, 2, 4.5", "ft")
    wild = with_text(with_text(wild, "price", "40"), "top", "2 ft")
    assert by_form(wild) != by_form(entries)
    wild = without_row(without_row(wild, "shots", 13, "ft"), "trees", 1, "ft")
    wild = with_row(wild, "shots", 3, kept["shots"][2], "ft")
    wild = with_text(with_text(wild, "price", "?"), "top", "18")
    assert dict(wild) == dict(entries)


@pytest.mark.parametrize(("answer", "gone"), [("slip", {"high"}), ("anew", {"shots", "again"}), ("other", set())])
def test_readings_the_wrong_way_up_wait_until_they_are_settled(answer: str, gone: set[str]) -> None:
    shots = [f"{x}, {y}, {4 + y / 20}" for x, y in GRID]  # a rod reads more to the far side: the near side is high
    entries = typed({"bed": "24 by 12", "measured": "rod", "shots": shots, "again": "4", "high": "far"})
    ((key, words),) = read_entries(entries, "ft").waits
    assert key == "sign"
    assert "you say that the far side is high" in words
    after = with_text(entries, "sign", answer)
    assert set(entries) - set(after) == gone
    filled = read_entries(after, "ft")
    assert not filled.waits
    assert filled.answers.measured == {"slip": "rod", "anew": "rod", "other": "elevations"}[answer] or answer == "anew"


def test_elevations_that_no_rod_reads_are_not_taken_for_readings() -> None:
    shots = [f"{x}, {y}, {100 - y / 20}" for x, y in GRID]
    entries = typed({"bed": "24 by 12", "measured": "elevations", "shots": shots, "high": "far"})
    assert read_entries(entries, "ft").waits[0][0] == "sign"
    with pytest.raises(EntryError, match=r"out of range\. Accepted: 0 ft to 32 ft") as told:
        read_entries(with_text(entries, "sign", "other"), "ft")
    assert (told.value.key, told.value.row) == ("shots", 1)


def test_a_level_that_has_moved_waits_and_is_asked_about_again_once_it_reads_otherwise() -> None:
    shots = [f"{x}, {y}, {4 + y / 50}" for x, y in GRID]
    entries = typed({"bed": "24 by 12", "measured": "rod", "shots": shots, "again": "4.3"})
    assert [key for key, _ in read_entries(entries, "ft").waits] == ["keep"]
    kept = with_text(entries, "keep", "keep")
    assert not read_entries(kept, "ft").waits
    assert [key for key, _ in read_entries(with_text(kept, "again", "4.5"), "ft").waits] == ["keep"]
    assert not read_entries(with_text(kept, "again", "4"), "ft").waits


def test_bare_figures_are_read_in_the_unit_that_is_chosen_whenever_that_is() -> None:
    """Exact: a foot is 0.3048 m (NIST SP 811, appendix B.6); what names its unit keeps it."""
    late = with_text(typed({"bed": "8 by 4", "top": "18 in"}), "units", "m")
    answers = read_entries(late, "ft").answers
    assert answers.outline.bounds == pytest.approx((0, 0, 8, 4), abs=1e-12)
    assert answers.top == pytest.approx(0.4572, abs=1e-12)
    feet = read_entries(with_text(late, "units", "ft"), "m").answers
    assert feet.outline.bounds == pytest.approx((0, 0, 8 * 0.3048, 4 * 0.3048), abs=1e-12)


def test_a_corner_of_a_bed_by_its_size_can_be_moved() -> None:
    moved = with_row(typed({"bed": "26 by 12"}), "bed", 3, "25, 11.5", "ft")
    assert moved["bed"] == ("0, 0", "26, 0", "25, 11.5", "0, 12")
    assert without_row(typed({"bed": "26 by 12"}), "bed", 4, "ft")["bed"] == ("0, 0", "26, 0", "26, 12")
    assert with_row(typed({"bed": "26 by 12"}), "bed", 0, "1, 2", "ft")["bed"] == ("1, 2",)  # another bed begins


def test_what_is_half_done_waits_in_words() -> None:
    cases = (
        ({"bed": ["0, 0", "26, 0"]}, "bed", "at least 3 different points; this has 2"),
        ({"bed": ["0, 0", "9, 9", "9, 0", "0, 9"]}, "bed", "cross"),
        ({"measured": "rod", "shots": ["0, 0, 4", "9, 0, 4.1"]}, "shots", "2 shots cannot carry a surface"),
        ({"measured": "rod", "shots": [f"{x}, 0, 4.{x}" for x in (0, 4, 8)]}, "shots", "lie in one line"),
    )
    for lines, key, words in cases:
        ((where, told),) = read_entries(typed(lines), "ft").waits
        assert (where, words in told) == (key, True), told


def test_a_tree_is_taped_from_the_ends_of_any_side() -> None:
    """A triangle of 3, 4 and 5: 12 ft of side B to C, 9 ft from B and 15 ft from C stands square to it at B."""
    entries = typed({"bed": "26 by 12", "trees": ["oak, 57, B 9, C 15", "elm, 57, C 15, B 9, near"]})
    inside, outside = read_entries(entries, "ft").answers.trees
    assert inside.at == pytest.approx((17 * 0.3048, 0.0), abs=1e-9)
    assert outside.at == pytest.approx((35 * 0.3048, 0.0), abs=1e-9)
    assert [corner_name(k) for k in (0, 25, 26, 52)] == ["A", "Z", "A2", "A3"]
    for text, words in (
        ("oak, 57, A 18, C 21", "ends of one side"),
        ("oak, 57, A 18, A 21", "ends of one side"),
        ("oak, 57, E 18, A 21", "no corner E"),
        ("oak, 57, B 2, C 3", "do not meet"),
    ):
        with pytest.raises(EntryError, match=words):
            read_entries(typed({"bed": "26 by 12", "trees": [text]}), "ft")
    assert math.isclose(inside.girth, 57 * 0.0254)


def test_texts_that_no_form_holds_are_refused() -> None:
    for value in (
        [],
        {"bed": "26 by 12"},
        {"bed": []},
        {"colour": ["red"]},
        {"top": ["1", "2"]},
        {"top": [1]},
        {"top": ["x" * 201]},
        {"top": ["1\n2"]},
        {"shots": ["1, 2, 3"] * 501},
        {1: ["x"]},
    ):
        with pytest.raises(InputError):
            entries_of(value)
    assert entries_of({"bed": ["26 by 12"]}) == {"bed": ("26 by 12",)}
    for edit in (
        lambda: with_text({}, "colour", "red"),
        lambda: with_text({}, "top", "1" * 201),
        lambda: with_row({}, "shots", 2, "1, 2, 3", "ft"),
        lambda: without_row({}, "shots", 1, "ft"),
        lambda: with_row({"shots": ("1, 2, 3",) * 500}, "shots", 0, "1, 2, 3", "ft"),
    ):
        with pytest.raises(InputError):
            edit()
    shots = tuple(f"{x}, {y}, {4 + y / 20}" for x, y in GRID)
    with pytest.raises(EntryError, match="no answer that can be kept"):
        read_entries({"measured": ("rod",), "shots": shots, "high": ("far",), "sign": ("anew",)}, "ft")
