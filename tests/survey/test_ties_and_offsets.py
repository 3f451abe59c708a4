"""Points by tape and by station and offset: known places come back, and every slip is a figure in a message."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from hypothesis import assume, given, strategies as st

from terrain.errors import InputError
from terrain.survey.offsets import Offset, place_offset, read_offsets
from terrain.survey.placing import Measures, place_all
from terrain.survey.points import Place, PlacedPoint, point_key
from terrain.survey.tapes import fix_by_tapes, side_of
from terrain.survey.ties import TIE_BOUND, read_ties

FOOT = 0.3048
NEAR = 1e-9  # metres
KNOWN = {"A": (0.0, 0.0), "B": (50.0 * FOOT, 0.0), "C": (0.0, 40.0 * FOOT)}


def placed(places: dict[str, Place]) -> dict[str, PlacedPoint]:
    return {point_key(name): PlacedPoint(name, at, "known") for name, at in places.items()}


def tie(folder: Path, text: str, bound: float = TIE_BOUND) -> tuple[dict[str, Place], tuple[str, ...]]:
    """Places in feet of all points, and the notes."""
    path = folder / "ties.csv"
    path.write_text(text, encoding="utf-8")
    measures = Measures(read_ties(path, "ties.csv", "ft"))
    found, notes = place_all(placed(KNOWN), measures, "ft", bound, "site.toml [survey]")
    return {key: (point.at[0] / FOOT, point.at[1] / FOOT) for key, point in found.items()}, notes


HEAD = "point,from,distance,from 2,distance 2,side\n"
TIED = {
    "one row": HEAD + "P,A,30,B,40,left of A to B\n",
    "the side from the other end": HEAD + "P,A,30,B,40,right of B to A\n",
    "a bare side": HEAD + "P,A,30,B,40,Left\n",
    "a letter": HEAD + "P,A,30,B,40,L\n",
    "one row a tape": "point,from,distance,side\nP,A,30,\nP,B,40,left of A to B\n",
    "three tapes need no side": "point,from,distance\nP,A,30\nP,B,40\nP,C,24.0832\n",
    "three tapes in one row": HEAD.replace("side", "from_3,distance_3").strip() + "\nP,A,30,B,40,C,24.0832\n",
    "feet and inches": HEAD + "P,A,30 ft 0 in,B,40 ft,left\n",
    "a unit in the heading": HEAD.replace("distance,", "distance (ft),") + "P,A,30,B,40,left\n",
    "semicolons and decimal commas": HEAD.replace(",", ";") + "P;A;30,0;B;40,0;left\n",
    "another spelling": HEAD + " p ,a,30,b,40,left of a to B\n",
}


@pytest.mark.parametrize("shape", TIED)
def test_the_shape_of_the_table_does_not_change_the_place(tmp_path: Path, shape: str) -> None:
    places, notes = tie(tmp_path, TIED[shape])
    assert places["p"] == pytest.approx((18.0, 24.0), abs=1e-4)  # feet; the third tape is rounded to 0.0001 ft
    assert not notes or "three tapes or more; the worst of these is off by 0.00 ft" in notes[0]


def test_a_point_may_be_tied_to_one_that_stands_below_it(tmp_path: Path) -> None:
    places, _ = tie(tmp_path, HEAD + "Q,A,50,P,40,right of A to P\nP,A,30,B,40,left\n")
    assert places["q"] == pytest.approx((50.0, 0.0), abs=1e-9)


def test_the_worst_of_three_tapes_is_said(tmp_path: Path) -> None:
    _, notes = tie(tmp_path, "point,from,distance\nP,A,30\nP,B,40.06\nP,C,24.08\n")
    assert notes == ("1 point has three tapes or more; the worst of these is off by 0.03 ft, at P.",)


def test_tapes_along_one_line_are_said(tmp_path: Path) -> None:
    _, notes = tie(tmp_path, HEAD + "P,A,45,B,5.1,left\n")
    assert notes == (
        'ties.csv row 2 "P": the tapes run nearly along one line: '
        "a slip of 0.10 ft in them moves the point by 0.68 ft.",
    )


REFUSED_TIES = {
    "tapes that fall short": (
        HEAD + "P,A,20,B,29,left\n",
        'ties.csv row 2 "P": the tapes do not meet: 20.00 ft from A and 29.00 ft from B fall short of each other by '
        "1.00 ft; A and B are 50.00 ft apart. Tape it again.",
    ),
    "tapes that pass each other": (HEAD + "P,A,80,B,29,left\n", "29.00 ft from B pass each other by 1.00 ft;"),
    "no side": (
        HEAD + "P,A,30,B,40,\n",
        'ties.csv row 2 "P": the tapes meet at two places, and no side says which. '
        'Add a side, such as "left of A to B".',
    ),
    "three tapes from one line": (
        "point,from,distance\nM,A,25\nM,B,25\nP,A,30\nP,B,40\nP,M,25\n",
        'ties.csv row 4 "P": the tapes meet at two places',
    ),
    "tapes that disagree": (
        "point,from,distance\nP,A,30\nP,B,41\nP,C,24.08\n",
        'ties.csv row 2 "P": the tapes disagree by up to 0.50 ft, more than 0.10 ft (measured less worked out: A ',
    ),
    "one tape": (HEAD + "P,A,30,,,\n", 'ties.csv row 2 "P": one tape alone places no point. Tape it from a second'),
    "tapes from one point": (HEAD + "P,A,30,A,40,\n", "its tapes start from one place, A and A."),
    "an unknown point": (
        HEAD + "P,A,30,D,40,left\n",
        'ties.csv row 2 "P": "D" is no known point. Name a point of the shots, of points under [survey]',
    ),
    "points tied to each other": (
        HEAD + "P,A,30,Q,40,left\nQ,A,30,P,40,left\n",
        "P, Q are tied to each other and to no known point.",
    ),
    "a side that is none": (HEAD + "P,A,30,B,40,north\n", '"north" is not a side. Accepted: such as "left of A to B"'),
    "a side of a line that sees both": (
        HEAD + "P,A,30,B,40,right of A to C\n",
        'ties.csv row 2 "P": more than one place where the tapes meet lies right of A to C.',
    ),
    "a side that sees neither": (
        HEAD + "P,A,30,B,40,left of A to C\n",
        "neither place where the tapes meet lies left of A to C.",
    ),
    "two sides": (HEAD + "P,A,30,B,40,left of A to B\nP,C,24.08,,,right of A to B\n", "two rows name two sides."),
    "a tape from nowhere": (HEAD + "P,,30,B,40,left\n", "ties.csv row 2: a tape has no point it was taped from."),
    "a tape without a length": (HEAD + "P,A,,B,40,left\n", "ties.csv row 2: a tape has no distance. Write both, or"),
    "no length": (HEAD + "P,A,0,B,40,left\n", "the tape from A is not above zero."),
    "no name": (HEAD + ",A,30,B,40,left\n", "ties.csv row 2: the point has no name."),
    "blanks between the values": ("point from distance\nP A 30\n", "blanks stand between the values"),
    "a place that is known otherwise": (
        HEAD + "C,A,30,B,40,left\n",
        'ties.csv row 2 "C": this place is 24.08 ft from the one by known. Accepted: within 0.10 ft;',
    ),
}


@pytest.mark.parametrize("case", REFUSED_TIES)
def test_a_tie_that_cannot_be_trusted_is_refused(tmp_path: Path, case: str) -> None:
    text, message = REFUSED_TIES[case]
    with pytest.raises(InputError) as refused:
        tie(tmp_path, text)
    assert message in str(refused.value)


def test_a_wider_bound_lets_tapes_disagree(tmp_path: Path) -> None:
    places, notes = tie(tmp_path, "point,from,distance\nP,A,30\nP,B,41\nP,C,24.08\n", bound=FOOT)
    assert math.dist(places["p"], (18.0, 24.0)) < 1.0
    assert "off by 0.50 ft, at P" in notes[0]


spots = st.tuples(st.floats(-30.0, 30.0), st.floats(-30.0, 30.0))


def apart(most: int) -> st.SearchStrategy[list[Place]]:
    """Three places or more, no two in one square of 10 m: few then lie along one line, and few are drawn in vain."""
    return st.lists(spots, min_size=3, max_size=most, unique_by=lambda at: (at[0] // 10.0, at[1] // 10.0))


def spread(points: list[Place]) -> float:
    """Least spread of points about any line, metres."""
    plan = np.array(points) - np.mean(points, axis=0)
    return float(np.linalg.svd(plan, compute_uv=False)[-1])


@given(anchors=apart(6), place=spots)
def test_exact_tapes_from_three_points_or_more_give_the_place_back(anchors: list[Place], place: Place) -> None:
    assume(spread(anchors) > 3.0)
    assume(min(math.dist(place, anchor) for anchor in anchors) > 1.0)
    best = fix_by_tapes(anchors, [math.dist(place, anchor) for anchor in anchors])[0]
    assert best.at == pytest.approx(place, abs=1e-5)
    assert best.worst < 1e-6


@given(anchors=apart(5), place=spots, slips=st.lists(st.floats(-0.02, 0.02), min_size=5))
def test_no_place_near_the_fix_fits_the_tapes_better(anchors: list[Place], place: Place, slips: list[float]) -> None:
    """Least squares: the sum of squared residuals is least, against a slow look all round."""
    assume(spread(anchors) > 3.0)
    assume(min(math.dist(place, anchor) for anchor in anchors) > 1.0)
    tapes = [math.dist(place, anchor) + slip for anchor, slip in zip(anchors, slips, strict=False)]
    fix = fix_by_tapes(anchors, tapes)[0]

    def misfit(east: float, north: float) -> float:
        return sum((math.dist((east, north), a) - t) ** 2 for a, t in zip(anchors, tapes, strict=True))

    around = [
        misfit(fix.at[0] + r * math.cos(a), fix.at[1] + r * math.sin(a))
        for r in (1e-4, 1e-3, 1e-2)
        for a in np.linspace(0.0, 2.0 * math.pi, 12)
    ]
    assert misfit(*fix.at) <= min(around) + 1e-12


@given(a=spots, b=spots, place=spots)
def test_two_exact_tapes_give_the_place_back_on_its_side(a: Place, b: Place, place: Place) -> None:
    assume(math.dist(a, b) > 1.0)
    off = side_of(a, b, place)
    assume(abs(off) > 0.5)
    fixes = fix_by_tapes([a, b], [math.dist(a, place), math.dist(b, place)])
    same = [fix for fix in fixes if (side_of(a, b, fix.at) > 0.0) == (off > 0.0)]
    assert len(same) == 1
    assert same[0].at == pytest.approx(place, abs=1e-6)


OFFSET_HEAD = "point,station,offset,side\n"
OFFSETS = {
    "a side in its own column": OFFSET_HEAD + "P,12.5,4.2,left\n",
    "a letter in the column": OFFSET_HEAD + "P,12.5,4.2,L\n",
    "a side after the offset": OFFSET_HEAD + "P,12.5,4.2 left,\n",
    "a letter at the offset": OFFSET_HEAD + "P,12.5,4.2L,\n",
    "a letter before the offset": OFFSET_HEAD + "P,12.5,L 4.2,\n",
    "units": OFFSET_HEAD + "P,12 ft 6 in,4.2 ft lt,\n",
    "a station with a plus": OFFSET_HEAD + "P,0+12.5,4.2,left\n",
    "no column for the side": "point,sta,o/s\nP,12.5,4.2 L\n",
    "semicolons and decimal commas": OFFSET_HEAD.replace(",", ";") + "P;12,5;4,2;left\n",
}


def offsets(folder: Path, text: str, units: str = "ft") -> dict[str, Place]:
    path = folder / "offsets.csv"
    path.write_text(text, encoding="utf-8")
    return {offset.name: (offset.station, offset.left) for offset in read_offsets(path, "offsets.csv", units)}


@pytest.mark.parametrize("shape", OFFSETS)
def test_the_shape_of_the_table_does_not_change_station_and_offset(tmp_path: Path, shape: str) -> None:
    assert offsets(tmp_path, OFFSETS[shape])["P"] == pytest.approx((12.5 * FOOT, 4.2 * FOOT), abs=NEAR)


def test_full_stations_are_of_a_hundred_or_a_thousand_by_their_digits(tmp_path: Path) -> None:
    found = offsets(tmp_path, OFFSET_HEAD + "P,1+25.5,0,\nQ,1+025.5,0,\n", "m")
    assert found == {"P": pytest.approx((125.5, 0.0), abs=NEAR), "Q": pytest.approx((1025.5, 0.0), abs=NEAR)}


REFUSED_OFFSETS = {
    "no side": (
        "P,12.5,4.2,\n",
        'offsets.csv row 2 offset: "4.2" does not say which side of the baseline. Accepted: a',
    ),
    "a sign for a side": ("P,12.5,-4.2,\n", 'offsets.csv row 2 offset: "-4.2" does not say which side'),
    "two sides": ("P,12.5,4.2 R,left\n", 'offsets.csv row 2 offset: "left" is not one side. Accepted: left or right.'),
    "a side that is none": ("P,12.5,4.2,north\n", '"north" is not one side.'),
    "no station": ("P,,4.2,left\n", "offsets.csv row 2 station: the value is missing."),
    "no name": (",12.5,4.2,left\n", "offsets.csv row 2: the point has no name."),
    "a station in words": ("P,gate,4.2,left\n", 'offsets.csv row 2 station: "gate" is not a length.'),
}


@pytest.mark.parametrize("case", REFUSED_OFFSETS)
def test_an_offset_that_cannot_be_placed_is_refused(tmp_path: Path, case: str) -> None:
    rows, message = REFUSED_OFFSETS[case]
    with pytest.raises(InputError) as refused:
        offsets(tmp_path, OFFSET_HEAD + rows)
    assert message in str(refused.value)


@given(start=spots, end=spots, station=st.floats(-20.0, 60.0), left=st.floats(-30.0, 30.0))
def test_station_and_offset_are_the_distances_along_and_off_the_baseline(
    start: Place, end: Place, station: float, left: float
) -> None:
    assume(math.dist(start, end) > 1.0)
    at = place_offset(Offset("P", "", station, left), start, end).at
    along = ((end[0] - start[0]) * (at[0] - start[0]) + (end[1] - start[1]) * (at[1] - start[1])) / math.dist(
        start, end
    )
    assert along == pytest.approx(station, abs=1e-9)
    assert side_of(start, end, at) == pytest.approx(left, abs=1e-9)
