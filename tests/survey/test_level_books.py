"""Level books as crews write them: every shape gives the same elevations, and no slip passes without a word."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, strategies as st

from terrain.errors import InputError
from terrain.survey.level_book import LevelBook, LevelRules, read_level_book
from terrain.survey.levels import Reading, adjusted, reduce_levels

FOOT = 0.3048
NEAR = 1e-9  # metres
BENCHMARK = {"BM": 100.0 * FOOT}
BOOK = """\
point,backsight,intermediate,foresight
BM,4.00,,
a,,3.10,
TP,4.50,,5.00
b,,4.20,
BM,,,3.49
"""
# Worked by hand: +0.01 ft in two set-ups; an intermediate sight takes half of what its set-up takes.
FEET = {"bm": 100.0, "a": 100.8975, "tp": 98.995, "b": 99.2925}


def read(folder: Path, text: str, rules: LevelRules | None = None, units: str = "ft") -> LevelBook:
    path = folder / "levels.csv"
    path.write_text(text, encoding="utf-8")
    return read_level_book(path, "levels.csv", units, rules or LevelRules(BENCHMARK))


SHAPES = {
    "as it stands": BOOK,
    "short headings": BOOK.replace("backsight,intermediate,foresight", "BS,IFS,FS"),
    "headings with signs": BOOK.replace("backsight,intermediate,foresight", "BS (+),IS,FS (-)"),
    "semicolons and decimal commas": BOOK.replace(",", ";").replace(".", ","),
    "tabs": BOOK.replace(",", "\t"),
    "dashes in empty cells": BOOK.replace("BM,4.00,,", "BM,4.00,-,—"),
    "a unit in the headings": BOOK.replace("backsight", "backsight (ft)").replace("foresight", "foresight (ft)"),
    "feet and inches": BOOK.replace("4.50", "4 ft 6 in"),
    "two rows for the turning point": BOOK.replace("TP,4.50,,5.00", "TP,,,5.00\nTP,4.50,,"),
    "a sight after the foresight": BOOK.replace("a,,3.10,\n", "").replace(
        "TP,4.50,,5.00", "TP,,,5.00\na,,3.10,\nTP,4.50,,"
    ),
    "no column for intermediate sights": "point,bs,fs\nBM,4.00,\na,,3.10\nTP,4.50,5.00\nb,,4.20\nBM,,3.49\n",
    "capitals and blanks in names": BOOK.replace("TP,4.50,,5.00", "tp,,,5.00\n TP ,4.50,,"),
    "remarks and a rod column": BOOK.replace("foresight", "foresight,rod,note").replace(
        "b,,4.20,", "b,,4.20,,long,by the oak"
    ),
}


@pytest.mark.parametrize("shape", SHAPES)
def test_the_shape_of_the_book_does_not_change_the_elevations(tmp_path: Path, shape: str) -> None:
    elevations = read(tmp_path, SHAPES[shape]).elevations
    assert {key: level / FOOT for key, level in elevations.items()} == pytest.approx(FEET, abs=NEAR)


def test_the_first_row_may_carry_the_benchmark(tmp_path: Path) -> None:
    text = BOOK.replace("foresight", "foresight,elevation").replace("BM,4.00,,", "BM,4.00,,,100.00")
    elevations = read(tmp_path, text, LevelRules({})).elevations
    assert elevations["b"] / FOOT == pytest.approx(FEET["b"], abs=NEAR)


def test_a_book_without_a_way_back_is_said_to_be_unchecked(tmp_path: Path) -> None:
    worked = read(tmp_path, "point,bs,is\nBM,4.00,\na,,3.10\n")
    assert worked.elevations["a"] / FOOT == pytest.approx(100.9, abs=NEAR)
    assert worked.notes == (
        "levels.csv: the run from BM (1 set-up) closes on no benchmark: nothing checks its elevations.",
    )


def test_a_run_may_close_on_another_benchmark(tmp_path: Path) -> None:
    text = BOOK.replace("BM,,,3.49", "BM2,,,3.48")
    worked = read(tmp_path, text, LevelRules({**BENCHMARK, "BM2": 100.01 * FOOT}))
    assert worked.runs[0].misclosure == pytest.approx(0.01 * FOOT, abs=NEAR)
    assert worked.elevations["bm2"] / FOOT == pytest.approx(100.01, abs=NEAR)


def test_each_set_up_may_start_from_the_benchmark(tmp_path: Path) -> None:
    worked = read(tmp_path, "point,bs,is\nBM,4.00,\na,,3.10\nBM,5.20,\nb,,6.00\n")
    assert len(worked.runs) == 2
    assert worked.elevations["b"] / FOOT == pytest.approx(99.2, abs=NEAR)


def test_a_point_seen_twice_takes_the_mean_where_both_agree(tmp_path: Path) -> None:
    worked = read(tmp_path, "point,bs,is\nBM,4.00,\na,,3.10\nBM,5.20,\na,,4.31\n")
    assert worked.elevations["a"] / FOOT == pytest.approx(100.895, abs=NEAR)


def test_a_hand_worked_elevation_that_its_readings_do_not_give_is_said(tmp_path: Path) -> None:
    text = BOOK.replace("foresight", "foresight,HI,elevation")
    text = text.replace("a,,3.10,", "a,,3.10,,,100.09").replace("BM,4.00,,", "BM,4.00,,,104.00,100.00")
    assert (
        "levels.csv row 3: the book's elevation says 100.09 ft, its readings give 100.90 ft; the readings were taken."
        in read(tmp_path, text).notes
    )
    text = text.replace("104.00", "140.00")
    assert "levels.csv row 2: the book's HI says 140.00 ft, its readings give 104.00 ft" in " ".join(
        read(tmp_path, text).notes
    )


def test_the_length_may_come_from_the_places_of_the_turning_points(tmp_path: Path) -> None:
    path = tmp_path / "levels.csv"
    path.write_text(BOOK, encoding="utf-8")
    rules = LevelRules(BENCHMARK, floor=0.001 * FOOT)
    places = {"bm": (0.0, 0.0), "tp": (0.0, 5280.0 * FOOT / 8.0)}
    worked = read_level_book(path, "levels.csv", "ft", rules, places)
    assert "within the 0.025 ft allowed (third order over 1320 ft)" in worked.notes[0]
    with pytest.raises(
        InputError, match=r"\+0\.010 ft, more than the 0\.001 ft allowed \(the least for small sites; the"
    ):
        read_level_book(path, "levels.csv", "ft", rules, {"bm": (0.0, 0.0)})


REFUSED = {
    "a misclosure over the floor": (
        BOOK.replace("3.49", "3.47"),
        "levels.csv: the run from BM to BM (2 set-ups) closes at +0.030 ft, more than the 0.020 ft allowed (the least "
        "for small sites; the length of the run is not known); backsights add up to 8.50 ft, foresights to 8.47 ft.",
    ),
    "blanks between the values": (
        BOOK.replace(",", " "),
        "levels.csv row 1: blanks stand between the values, so that an empty cell cannot be told. Put commas,",
    ),
    "no backsight": ("point,bs,fs\nBM,,3\n", "levels.csv: the book has no backsight. Start it with a backsight"),
    "a reading before the backsight": (
        "point,bs,is\na,,3.10\nBM,4.00,\n",
        "levels.csv row 2: there is a reading before any backsight. Start the book with a backsight on a benchmark.",
    ),
    "a turn on two points": (
        BOOK.replace("TP,4.50,,5.00", "TP,,,5.00\nTQ,4.50,,"),
        "levels.csv row 5: this backsight stands neither on a benchmark nor on a point that a set-up before it",
    ),
    "a turn on an intermediate sight": (
        BOOK.replace("TP,4.50,,5.00", "TP,4.50,5.00,"),
        "levels.csv row 4: this backsight stands neither on a benchmark nor",
    ),
    "a benchmark that is not in the book": (
        BOOK.replace("BM", "BM 1"),
        'levels.csv: no row is of the benchmark "BM". Did you mean "BM 1"? The book\'s first point is "BM 1".',
    ),
    "another elevation of the benchmark": (
        BOOK.replace("foresight", "foresight,elev").replace("BM,4.00,,", "BM,4.00,,,99.00"),
        'levels.csv row 2 elev: "99.00" is not the elevation that benchmark gives "BM" under [survey]. Keep the right',
    ),
    "two elevations of one point": (
        BOOK.replace("b,,4.20,", "a,,4.20,"),
        'levels.csv rows 3 and 5: the elevations of "a" differ, 99.29 ft to 100.90 ft, by more than 0.020 ft.',
    ),
    "a sight on a benchmark that disagrees": (
        BOOK.replace("b,,4.20,", "BM,,4.20,"),
        'levels.csv rows 5 and 6: the elevations of "BM" differ, 99.29 ft to 100.00 ft',
    ),
    "a rod that no one carries": (
        BOOK.replace("3.10", "310"),
        "levels.csv row 3 intermediate: a rod reading of 310.00 ft is longer than any rod. Accepted: up to 32.81 ft.",
    ),
    "a reading beside no point": (
        BOOK.replace("a,,3.10", ",,3.10"),
        "levels.csv row 3: a reading stands beside no point.",
    ),
    "a point without a reading": (BOOK.replace("a,,3.10", "a,,"), 'levels.csv row 3: "a" has no reading. Write one,'),
    "text for a reading": (BOOK.replace("3.10", "3.1o"), 'levels.csv row 3 intermediate: "3.1o" is not a length.'),
    "a reading in metres": (BOOK.replace("4.50", "1.37 m"), "mixed units in one column"),
    "a column in metres": (BOOK.replace("backsight", "backsight (m)"), 'the header says m, but the site is in "ft"'),
    "no backsight column": (
        "point,fs\nBM,3\n",
        "levels.csv row 1: no column gives the backsight; the columns were taken so",
    ),
}


@pytest.mark.parametrize("case", REFUSED)
def test_a_book_that_cannot_be_trusted_is_refused(tmp_path: Path, case: str) -> None:
    text, message = REFUSED[case]
    with pytest.raises(InputError) as refused:
        read(tmp_path, text)
    assert message in str(refused.value)


def test_a_book_without_any_benchmark_is_refused(tmp_path: Path) -> None:
    with pytest.raises(
        InputError, match=r'no benchmark is given\. Add benchmark = \{ point = "BM", elevation = 100\.0 \}'
    ):
        read(tmp_path, BOOK, LevelRules({}))


rods = st.floats(0.2, 4.0)


@given(legs=st.lists(st.tuples(rods, rods, rods), min_size=1, max_size=8), slip=st.floats(-0.005, 0.005))
def test_adjusting_closes_any_loop_and_moves_no_point_more_than_the_misclosure(
    legs: list[tuple[float, float, float]], slip: float
) -> None:
    """A loop that closes but for a slip: the adjusted last elevation is the benchmark's; others move by their share."""
    backs = [back for back, _, _ in legs]
    fores = [fore for _, fore, _ in legs[:-1]]
    fores.append(sum(backs) - sum(fores) + slip)
    points = ["bm", *(f"t{i}" for i in range(1, len(legs))), "bm"]
    readings: list[Reading] = []
    for i, (_, _, side) in enumerate(legs):
        readings.append(Reading(points[i], "backsight", backs[i], i))
        readings.append(Reading(f"p{i}", "intermediate", side, i))
        readings.append(Reading(points[i + 1], "foresight", fores[i], i))
    (run,) = reduce_levels(readings, {"bm": 50.0})
    (settled,) = adjusted([run], {"bm": 50.0})
    assert run.misclosure == pytest.approx(-slip, abs=1e-9)
    assert settled.visits[-1].elevation == pytest.approx(50.0, abs=1e-9)
    moved = [after.elevation - before.elevation for before, after in zip(run.visits, settled.visits, strict=True)]
    ends = np.arange(1, len(legs) + 1)
    expected = np.column_stack([ends - 0.5, ends]).ravel() * slip / len(legs)
    assert moved == pytest.approx(expected, abs=1e-9)
