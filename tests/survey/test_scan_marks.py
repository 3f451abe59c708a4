"""A scan laid on its marks: published cases, weak layouts, a scan of another size, and marks that are wrong.

Cases SM-1 to SM-4 and the layouts were worked out independently of this code, with the formulas of Umeyama 1991 and of
Fitzpatrick, West and Maurer 1998; figures in metres.
"""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest

from terrain.errors import InputError
from terrain.numerics.orientation import laid_upon, layout_factor, left_out_misses, stretch_deviation
from terrain.survey.scans import ScanFit, ScanMarks, lay_scan, read_scan_marks

# SM-2: a scan with y upward, 1.2 % too small, of five points of a yard.
SCAN = np.array(
    [
        (-1.1781, 0.0, 3.3624),
        (13.0268, 0.3953, -7.3419),
        (4.7013, 0.8893, -18.3902),
        (-9.5036, 0.5929, -7.6859),
        (1.7616, 1.5810, -7.5139),
    ]
)
YARD = np.array([(0, 0, 0), (18, 0, 0.4), (18, 14, 0.9), (0, 14, 0.6), (9, 7, 1.6)], dtype=float)
OFF = np.array([(0.02, -0.01, 0.01), (-0.01, 0.02, -0.02), (0.01, 0.01, 0.02), (-0.02, -0.01, -0.01), (0, -0.01, 0)])
CORNERS = np.array([(2.0, 2.0), (16.0, 2.0), (16.0, 12.0), (2.0, 12.0)])


def test_a_mirror_image_is_never_the_answer() -> None:
    """Umeyama 1991, abstract: without its sign matrix the plain solution may be a reflection."""
    solid = np.vstack([YARD, (4.0, 3.0, 5.0)])
    fit = laid_upon(solid * (-1.0, 1.0, 1.0), solid)
    assert np.linalg.det(fit.turn) == pytest.approx(1.0, abs=1e-12)
    assert np.linalg.norm(fit.of(solid * (-1.0, 1.0, 1.0)) - solid, axis=1).max() > 1.0


def test_a_scan_with_y_upward_comes_upright() -> None:
    fit = laid_upon(SCAN, YARD)
    assert fit.stretch == pytest.approx(1.0120, abs=2e-5)
    assert fit.shift == pytest.approx([3, 2, 0], abs=5e-4)
    turn = [[0.798636, 0, -0.601815], [-0.601815, 0, -0.798636], [0, 1, 0]]
    assert np.abs(fit.turn - turn).max() < 5e-5
    assert np.linalg.norm(fit.of(SCAN) - YARD, axis=1).max() < 2e-4


def test_marks_with_errors_and_what_a_held_size_hides() -> None:
    free, held = laid_upon(SCAN, YARD + OFF), laid_upon(SCAN, YARD + OFF, 1.0)
    assert free.stretch == pytest.approx(1.011873, abs=5e-6)
    assert free.shift == pytest.approx([3.0065, 1.9943, -0.0037], abs=1e-3)
    rms = [math.sqrt(float((np.linalg.norm(fit.of(SCAN) - YARD - OFF, axis=1) ** 2).mean())) for fit in (free, held)]
    assert rms == pytest.approx([0.0200, 0.1215], abs=2e-4)
    missed = np.abs(left_out_misses(SCAN, YARD + OFF)[:4, 2])
    assert missed.min() > 0.045
    assert missed.max() < 0.055


def test_how_surely_marks_fix_the_size() -> None:
    corners = np.array([(0, 0, 0), (20, 0, 0), (20, 14, 0), (0, 14, 0)], dtype=float)
    assert stretch_deviation(corners, 0.0173) == pytest.approx(0.00071, abs=2e-5)


@pytest.mark.parametrize(
    ("ties", "factor"),
    [
        ([(0, 0, 0), (20, 0, 0), (20, 14, 0), (0, 14, 0)], 1.4),
        ([(0, 0, 0), (20, 0, 0), (20, 14, 0), (0, 14, 0), (10, 7, 2)], 1.5),
        ([(0, 0, 0), (20, 0, 0), (0, 14, 0)], 2.1),
        ([(0, 0, 0), (4, 0, 0), (4, 4, 0), (0, 4, 0)], 7.8),
    ],
)
def test_what_a_layout_is_worth_at_the_far_corner(ties: list[tuple[float, float, float]], factor: float) -> None:
    found = layout_factor(np.array(ties, dtype=float), np.array([(20.0, 14.0, 0.0)]))
    assert found == pytest.approx(factor, rel=0.06)


def test_the_factor_is_the_spread_of_many_fits() -> None:
    chance = np.random.default_rng(3)
    ties = np.array([(0, 0, 0), (20, 1, 0.3), (15, 14, 0.9), (2, 9, 0.2)], dtype=float)
    target = np.array([(20.0, 14.0, 0.5)])
    misses = []
    for _ in range(1500):
        fit = laid_upon(ties + chance.normal(0.0, 0.01, ties.shape), ties, 1.0)
        misses.append(float(((fit.of(target) - target) ** 2).sum()))
    expected = layout_factor(ties, target) * 0.01 * math.sqrt(3.0 / len(ties))
    assert math.sqrt(float(np.mean(misses))) == pytest.approx(expected, rel=0.05)  # 1,500 draws: 2 % twice over


def test_places_in_line_hold_nothing() -> None:
    line = np.column_stack([np.arange(4.0), np.zeros(4), np.zeros(4)])
    assert math.isinf(layout_factor(line, np.array([(1.0, 1.0, 0.0)])))


# Laying a scan


def laid(seen: np.ndarray, places: np.ndarray = YARD, unit: float = 0.0, corners: np.ndarray = CORNERS) -> ScanFit:
    marks = ScanMarks(tuple("ABCDEFGH"[: len(seen)]), np.asarray(seen), np.asarray(places))
    return lay_scan(marks, unit, corners, "m", "yard.ply", "marks.csv")


def refused(seen: np.ndarray, places: np.ndarray = YARD, unit: float = 0.0, corners: np.ndarray = CORNERS) -> str:
    with pytest.raises(InputError) as fault:
        laid(seen, places, unit, corners)
    assert str(fault.value).startswith("marks.csv: ")
    return str(fault.value)


@pytest.mark.parametrize(
    ("unit", "word"), [(1.0, "metres"), (0.3048, "feet"), (0.0254, "inches"), (0.001, "millimetres")]
)
def test_the_marks_tell_the_unit(unit: float, word: str) -> None:
    fit = laid(1.012 * SCAN / unit)
    assert fit.unit == unit
    assert fit.similarity.stretch == pytest.approx(unit, rel=1e-12)  # its own size is kept where the marks agree
    assert f"in {word} its size agrees with the marks" in " ".join(fit.notes)


@pytest.mark.parametrize("size", [0.98, 1.02])
def test_a_scan_that_is_2_percent_off_is_told_and_brought_to_the_marks(size: float) -> None:
    fit = laid(1.012 * SCAN * size)
    side = "large" if size > 1.0 else "small"
    told = next(note for note in fit.notes if "too" in note)
    assert f"the scan is 2.0 % too {side} by its marks" in told
    assert np.linalg.norm(fit.similarity.of(1.012 * SCAN * size) - YARD, axis=1).max() < 1e-3


def test_a_scan_within_half_a_percent_is_not_called_off() -> None:
    assert not any("too" in note for note in laid(1.012 * SCAN * 1.004).notes)


def test_each_mark_is_named_with_its_miss_and_three_are_said_to_check_nothing() -> None:
    notes = laid(1.012 * SCAN, YARD + OFF).notes
    assert "laid on 5 marks; each, laid by the others alone, misses by A 0.0" in notes[0]
    assert all(f"{name} 0.0" in notes[0] for name in "ABCDE")
    three = laid(1.012 * SCAN[[0, 1, 3]], YARD[[0, 1, 3]])
    assert "of three marks that says little: a fourth would check them" in three.notes[0]
    assert three.alone == ()


def test_too_few_marks() -> None:
    assert "2 marks cannot lay a scan" in refused(SCAN[:2], YARD[:2])


def test_marks_in_line_or_in_a_corner_are_refused_with_where_to_add_one() -> None:
    line = np.array([(0.0, 0.0, 0.0), (6.0, 0.3, 0.1), (12.0, 0.0, 0.2), (18.0, 0.2, 0.4)])
    problem = refused(line, line)
    assert "stand nearly in line, close together or far from the bed" in problem
    assert "Add a mark far from the others, such as about" in problem
    assert "12.00" in problem.split("about", 1)[1]  # across the yard from that line
    corner = np.array([(0.0, 0.0, 0.0), (3.0, 0.0, 0.1), (3.0, 3.0, 0.2), (0.0, 3.0, 0.0)])
    assert "times less surely than their middle" in refused(corner, corner)


def test_a_size_that_no_unit_explains_or_another_than_stated() -> None:
    assert "by its marks one of its units is" in refused(SCAN * 1.3)
    assert "state another unit" in refused(SCAN, unit=0.3048)


def test_a_mark_that_is_wrong_is_named() -> None:
    wrong = 1.012 * SCAN
    wrong[3] += (0.0, 0.0, 0.9)
    assert "the mark D is" in refused(wrong)


def test_north_before_east_is_found() -> None:
    flat = YARD * (1.0, 1.0, 0.2)
    assert "stands on its head or on its side" in refused(flat[:, [1, 0, 2]], flat)


# The table of marks


PLACES = {"a": ("A", YARD[0]), "b": ("B", YARD[1]), "low": ("low", None)}


@pytest.mark.parametrize(
    ("row", "problem"),
    [
        ("A,1,2,x", '"x" is no number'),
        ("A,1,2,nan", '"nan" is no number'),
        ("a,4,5,6", '"a" is marked twice'),
        ("C,1,2,3", '"C" is no point of the survey'),
        ("low,1,2,3", '"low" has no elevation'),
    ],
)
def test_a_wrong_row_is_named(row: str, problem: str, tmp_path: Path) -> None:
    path = tmp_path / "m.csv"
    first = "B,0,0,0" if row.startswith("A") else "A,0,0,0"
    path.write_text(f"point,x,y,z\n{first}\n{row}\n", encoding="utf-8")
    with pytest.raises(InputError) as fault:
        read_scan_marks(path, "m.csv", PLACES)
    assert str(fault.value).startswith("m.csv row 3")
    assert problem in str(fault.value)


def test_marks_are_read_whatever_the_order_of_their_columns(tmp_path: Path) -> None:
    path = tmp_path / "m.csv"
    path.write_text("z;y;x;name\n3,5;2;1;B\n6;5;4;a\n", encoding="utf-8")
    marks = read_scan_marks(path, "m.csv", PLACES)
    assert marks.names == ("B", "a")
    assert marks.seen.tolist() == [[1.0, 2.0, 3.5], [4.0, 5.0, 6.0]]
    assert marks.places.tolist() == [YARD[1].tolist(), YARD[0].tolist()]
