"""Labels never overlap, stay in the room they have, and are dropped rather than laid on each other."""

from __future__ import annotations

import math
from itertools import combinations

import pytest
from examples_drawn import drawn
from hypothesis import given, settings, strategies as st
from scenario import yard
from shapely.geometry import LineString, Point, box

from viewer.page.labels import Label, PlacedLabel, Seat, label_box, place, seats_along, seats_ring, seats_round
from viewer.page.lettering import Type, text_size, wrap
from viewer.page.sheet import Sheet
from viewer.page.subject import Subject
from viewer.sheets import cutfill, plan

ROOM = box(0, 0, 400, 300)
KIND = Type(9.0)


def overlaps(placed: list[PlacedLabel]) -> list[tuple[str, str]]:
    return [
        (one.label.text, other.label.text)
        for one, other in combinations(placed, 2)
        if one.box.intersection(other.box).area > 1e-9
    ]


@settings(max_examples=drawn(40))
@given(
    st.lists(
        st.tuples(
            st.floats(0, 400), st.floats(0, 300), st.floats(-90, 90), st.text("abc 019", min_size=1, max_size=12)
        ),
        max_size=40,
    )
)
def test_placed_labels_never_overlap_nor_leave_the_room(wishes: list[tuple[float, float, float, str]]) -> None:
    labels = [Label(text, (Seat(x, y, angle), *seats_round(x, y, text, KIND)), KIND) for x, y, angle, text in wishes]
    trunk = Point(200, 150).buffer(30)
    placed = place(labels, ROOM, [trunk])
    assert not overlaps(placed)
    assert all(ROOM.covers(item.box) and not item.box.intersects(trunk) for item in placed)


def test_the_lower_rank_keeps_the_place_and_the_other_is_dropped() -> None:
    seat = (Seat(200.0, 150.0),)
    placed = place([Label("later", seat, KIND, 5), Label("first", seat, KIND, 0)], ROOM, [])
    assert [item.label.text for item in placed] == ["first"]


def test_a_shorter_text_stands_in_where_the_long_one_finds_no_room() -> None:
    narrow = box(0, 0, 60, 20)
    seat = (Seat(30.0, 10.0),)
    long = Label("house, floor 101.90 ft", seat, KIND, instead=Label("house", seat, KIND))
    assert [item.label.text for item in place([long], narrow, [])] == ["house"]


def test_the_seat_that_covers_least_line_is_taken() -> None:
    line = LineString([(0, 150), (400, 150)])
    placed = place([Label("12", (Seat(200, 150), Seat(200, 170)), KIND)], ROOM, [], [line])
    assert placed[0].seat.up == 170


def test_a_leader_takes_paper_too() -> None:
    leader = box(99, 50, 101, 140)
    first = Label("top", (Seat(100, 150, also=leader),), KIND, 0)
    second = Label("in the way", (Seat(100, 90),), KIND, 1)
    assert [item.label.text for item in place([first, second], ROOM, [])] == ["top"]


@given(st.floats(-3.1, 3.1), st.floats(80, 300))
def test_text_along_a_straight_line_lies_on_it_and_is_never_upside_down(turn: float, length: float) -> None:
    line = LineString([(200, 150), (200 + length * math.cos(turn), 150 + length * math.sin(turn))])
    seats = seats_along(line, "101.5", KIND)
    assert seats
    assert all(-90.0 <= seat.angle <= 90.0 for seat in seats)
    # Half a point: the seat is the mean of five points on the line.
    assert all(line.distance(Point(seat.across, seat.up)) < 0.5 for seat in seats)


def test_no_text_is_set_where_a_line_is_too_short_or_bends_under_it() -> None:
    assert seats_along(LineString([(0, 0), (20, 0)]), "101.5", KIND) == ()
    assert seats_along(Point(0, 0).buffer(11.0).exterior, "1000.25", KIND) == ()


def test_seats_round_a_circle_stay_outside_it() -> None:
    disc = Point(100, 100).buffer(40.0)
    label = Label("keep-off 5 ft", (), KIND)
    for seat in seats_ring(100, 100, label.text, KIND, (40.0,)):
        assert label_box(label, seat).intersection(disc).area < 2.0  # points squared: a corner of the free margin


@given(st.text("abcdefgh ij", max_size=80), st.floats(40, 200))
def test_wrapped_lines_fit_unless_a_single_word_is_wider(text: str, width: float) -> None:
    lines = wrap(text, KIND, width)
    assert " ".join(lines).split() == text.split()
    assert all(text_size(line, KIND)[0] <= width or " " not in line for line in lines)


@pytest.mark.parametrize("units", ["ft", "m"])
def test_no_labels_overlap_on_the_plan_and_the_cut_and_fill_map(units: str) -> None:
    subject = Subject(*yard(units))  # type: ignore[arg-type]
    sheet: Sheet = plan.sheet_of(subject)
    on_plan = plan.plan_labels(subject, sheet, plan.plan_contours(subject, sheet)[0])
    found = cutfill.bands(subject.proposal, subject.ground, subject.site.units)
    on_map = cutfill.map_labels(sheet, subject, found)
    assert len(on_plan) > 25
    assert {"A", "A′", "B", "B′"} <= {item.label.text for item in on_plan}
    assert len(on_map) > 6
    assert not overlaps(on_plan)
    assert not overlaps(on_map)
