"""Level books with known answers: a textbook's loop, its allowances, a field manual's rule, a book made by hand."""

from __future__ import annotations

from pathlib import Path

import pytest

from terrain.errors import InputError
from terrain.survey.level_book import LevelRules, read_level_book
from terrain.survey.levels import CLASSES, Reading, adjusted, allowance, reduce_levels

FOOT = 0.3048
EXACT = 1e-9  # metres: the books are in whole millimetres or hundredths of a foot

# Ghilani and Wolf, Elementary Surveying, 14th ed., problem 5.12 (inputs as listed on a homework page; the answers are
# worked out here, the printed ones were not seen).
LOOP = """\
point,bs,fs
BM7,4.388,
TP1,6.907,4.538
BM8,4.680,8.800
TP2,3.730,5.978
TP3,8.464,5.245
BM7,,3.598
"""
# Made by hand, not published: intermediate sights from two set-ups.
SIGHTS = """\
point,backsight,intermediate,foresight
BM,4.00,,
a,,3.10,
b,,3.55,
c,,4.20,
TP,4.50,,5.00
BM,,,3.49
"""


def book(folder: Path, text: str) -> Path:
    path = folder / "levels.csv"
    path.write_text(text, encoding="utf-8")
    return path


def test_a_height_of_instrument_is_the_benchmark_and_the_backsight() -> None:
    # Ghilani and Wolf, levelling figure in course notes: BM 820.00, BS 8.42, HI 828.42; FS 1.20 gives 827.22.
    (run,) = reduce_levels([Reading("bm", "backsight", 8.42, 1), Reading("p", "foresight", 1.20, 2)], {"bm": 820.0})
    assert run.instrument == pytest.approx([828.42], abs=EXACT)
    assert run.visits[0].elevation == pytest.approx(827.22, abs=EXACT)
    assert run.misclosure is None


def test_the_loop_of_problem_5_12_closes_at_ten_millimetres(tmp_path: Path) -> None:
    worked = read_level_book(book(tmp_path, LOOP), "levels.csv", "m", LevelRules({"BM7": 852.045}, length=1500.0))
    (run,) = worked.runs
    assert (run.backsights, run.foresights) == pytest.approx((28.169, 28.159), abs=EXACT)
    assert run.misclosure == pytest.approx(0.010, abs=EXACT)
    assert run.instrument == pytest.approx([856.433, 858.802, 854.682, 852.434, 855.653], abs=EXACT)
    raw = [visit.elevation for visit in run.visits]
    assert raw == pytest.approx([851.895, 850.002, 848.704, 847.189, 852.055], abs=EXACT)
    (settled,) = adjusted([run], {"bm7": 852.045})
    assert [visit.elevation for visit in settled.visits] == pytest.approx(
        [851.893, 849.998, 848.698, 847.181, 852.045], abs=EXACT
    )
    assert worked.elevations == pytest.approx(
        {"bm7": 852.045, "tp1": 851.893, "bm8": 849.998, "tp2": 848.698, "tp3": 847.181}, abs=EXACT
    )
    assert worked.notes == (
        "levels.csv: the run from BM7 to BM7 (5 set-ups) closes at +10.0 mm, within the 14.7 mm allowed (third order "
        "over 1500 m); -2.0 mm was added at each set-up.",
    )


def test_the_loop_passes_third_order_and_fails_second_order_class_two(tmp_path: Path) -> None:
    path = book(tmp_path, LOOP)
    rules = LevelRules({"BM7": 852.045}, "second order class II", 1500.0)
    with pytest.raises(InputError) as refused:
        read_level_book(path, "levels.csv", "m", rules)
    assert str(refused.value) == (
        "levels.csv: the run from BM7 to BM7 (5 set-ups) closes at +10.0 mm, more than the 9.8 mm allowed (second "
        "order class II over 1500 m); backsights add up to 28.169 m, foresights to 28.159 m. Level it again, or state "
        "another level_class or the level_run under [survey]."
    )


def test_backsights_less_foresights_is_the_last_elevation_less_the_first() -> None:
    # NAVEDTRA 14071, text to fig. 7-4: the check proves the arithmetic, not the field work.
    rods = [("bm", 4.388, "t"), ("t", 6.907, "u"), ("u", 4.680, "v")]
    fores = [4.538, 8.800, 5.978]
    readings = [
        reading
        for (at, back, to), fore in zip(rods, fores, strict=True)
        for reading in (Reading(at, "backsight", back, 0), Reading(to, "foresight", fore, 0))
    ]
    (run,) = reduce_levels(readings, {"bm": 100.0})
    assert run.backsights - run.foresights == pytest.approx(run.visits[-1].elevation - 100.0, abs=EXACT)


@pytest.mark.parametrize(
    ("level_class", "km", "millimetres"),
    [  # Ghilani and Wolf, problem 5.37; coefficients of the FGCC 1984 (from memory).
        ("third order", 20.0, 53.67),
        ("second order class I", 10.0, 18.97),
        ("first order class I", 30.0, 21.91),
        # Problem 5.12 at third order and at second order class II.
        ("third order", 1.5, 14.70),
        ("second order class II", 1.5, 9.80),
    ],
)
def test_the_allowance_grows_with_the_root_of_the_length(level_class: str, km: float, millimetres: float) -> None:
    assert 1000.0 * allowance(1000.0 * km, level_class, 0.0) == pytest.approx(millimetres, abs=0.005)


@pytest.mark.parametrize(("level_class", "feet"), [("third order", 0.05), ("construction", 0.10)])
def test_the_allowances_in_feet_and_miles_are_the_same_rules(level_class: str, feet: float) -> None:
    # ITCM 410, Construction Surveying, lab 1: 0.05 ft sqrt(miles) at third order, 0.10 at fourth.
    assert allowance(5280.0 * FOOT, level_class, 0.0) / FOOT == pytest.approx(feet, rel=2e-3)


def test_a_small_site_is_allowed_the_floor() -> None:
    # 200 ft at third order: 0.0097 ft, less than a rod is read to (worked out, not published).
    assert allowance(200.0 * FOOT, "third order", 0.0) / FOOT == pytest.approx(0.0097, abs=5e-5)
    assert allowance(200.0 * FOOT, "third order", 0.02 * FOOT) / FOOT == pytest.approx(0.02, abs=1e-12)
    assert allowance(None, "third order", 0.02 * FOOT) / FOOT == pytest.approx(0.02, abs=1e-12)


def test_the_classes_are_ordered_from_strict_to_loose() -> None:
    assert list(CLASSES.values()) == sorted(CLASSES.values())


def test_intermediate_sights_take_no_part_in_the_sums(tmp_path: Path) -> None:
    worked = read_level_book(book(tmp_path, SIGHTS), "levels.csv", "ft", LevelRules({"BM": 100.0 * FOOT}))
    (run,) = worked.runs
    assert [height / FOOT for height in run.instrument] == pytest.approx([104.0, 103.5], abs=EXACT)
    raw = {visit.point: visit.elevation / FOOT for visit in run.visits}
    assert raw == pytest.approx({"a": 100.90, "b": 100.45, "c": 99.80, "tp": 99.00, "bm": 100.01}, abs=EXACT)
    assert run.misclosure is not None
    assert run.misclosure / FOOT == pytest.approx(0.01, abs=EXACT)
    assert (run.backsights - run.foresights) / FOOT == pytest.approx(0.01, abs=EXACT)
    feet = {key: level / FOOT for key, level in worked.elevations.items()}
    assert feet == pytest.approx({"bm": 100.0, "a": 100.8975, "b": 100.4475, "c": 99.7975, "tp": 98.995}, abs=EXACT)
