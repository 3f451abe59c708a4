"""Runs of a level book that share points are adjusted together by least squares."""

from __future__ import annotations

import re
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, strategies as st

from terrain.errors import InputError
from terrain.survey.level_book import LevelBook, LevelRules, read_level_book
from terrain.survey.levels import Reading, adjusted, reduce_levels

FOOT = 0.3048
# A level circuit: Mahun, Open access surveying library, Least squares lite, chapter E, section 4
# (https://jerrymahun.com/index.php/home/open-access/52-iv-least-squares-lite/235-chapter-e-weights?start=3): observed
# differences in feet and set-ups of eight lines between four benchmarks and two points. The benchmarks are the adjusted
# elevations less the adjusted differences of chapter D, section 4.
BENCHMARKS = {"BMA": 806.520, "BMB": 818.320, "BMC": 820.120, "BMD": 824.040}
LINES = (
    ("BMA", "Q", 8.91, 3),
    ("BMB", "Q", -2.92, 2),
    ("BMC", "Q", -4.67, 1),
    ("BMD", "Q", -8.66, 3),
    ("BMA", "R", -3.56, 3),
    ("BMC", "R", -17.12, 4),
    ("BMD", "R", -21.10, 2),
    ("Q", "R", -12.47, 3),
)
WEIGHTED = {"q": 815.424, "r": 802.958}  # weights inverse to the set-ups
UNWEIGHTED = {"q": 815.418, "r": 802.962}


def book_of(lines: tuple[tuple[str, str, float, int], ...]) -> str:
    """Lines as set-ups of a book: each set-up takes its even part of the difference."""
    rows = ["point,backsight,foresight"]
    for number, (start, end, rise, setups) in enumerate(lines):
        turns = [start, *(f"t{number}-{i}" for i in range(1, setups)), end]
        for a, b in pairwise(turns):
            step = rise / setups
            rows += [f"{a},{max(5.0, 5.0 + step):.12f},", f"{b},,{max(5.0, 5.0 + step) - step:.12f}"]
    return "\n".join(rows) + "\n"


def read(folder: Path, text: str, rules: LevelRules) -> LevelBook:
    path = folder / "levels.csv"
    path.write_text(text, encoding="utf-8")
    return read_level_book(path, "levels.csv", "ft", rules)


# The page rounds while it solves the weighted equations: solved in full they give 815.4252 and 802.9589.
@pytest.mark.parametrize(("setups", "published", "rounding"), [(None, WEIGHTED, 0.0012), (1, UNWEIGHTED, 0.0005)])
def test_a_published_level_circuit(
    tmp_path: Path, setups: int | None, published: dict[str, float], rounding: float
) -> None:
    lines = tuple((a, b, rise, setups or count) for a, b, rise, count in LINES)
    rules = LevelRules({name: level * FOOT for name, level in BENCHMARKS.items()}, floor=0.1 * FOOT)
    worked = read(tmp_path, book_of(lines), rules)
    found = {key: worked.elevations[key] / FOOT for key in published}
    assert found == pytest.approx(published, rel=0.0, abs=rounding)
    assert {key: worked.elevations[key.casefold()] / FOOT for key in BENCHMARKS} == pytest.approx(BENCHMARKS, abs=1e-9)
    (note,) = [note for note in worked.notes if "least squares" in note]
    assert re.search(r"8 runs share Q, R and were adjusted together by least squares", note)


def test_a_run_far_off_the_others_is_refused(tmp_path: Path) -> None:
    rules = LevelRules({name: level * FOOT for name, level in BENCHMARKS.items()}, floor=0.1 * FOOT)
    slipped = (*LINES[:3], ("BMD", "Q", -9.66, 3), *LINES[4:])
    with pytest.raises(
        InputError, match=r"the run from \S+ to \S+ \(\d set-ups\) is [-+]\d\.\d{3} ft off what the runs"
    ):
        read(tmp_path, book_of(slipped), rules)


@given(st.data())
def test_any_net_is_the_least_squares_answer_of_its_set_ups(data: st.DataObject) -> None:
    """Against numpy's own least squares on the observation equations, one a set-up."""
    random = np.random.default_rng(data.draw(st.integers(0, 10_000)))
    true = {f"p{i}": float(random.uniform(0.0, 3.0)) for i in range(data.draw(st.integers(2, 7)))}
    known = {"bm": 1.0, "bm2": 2.0}
    seen, readings, links = list(known), [], []
    for row in range(data.draw(st.integers(2, 14))):
        start, end = seen[int(random.integers(len(seen)))], str(random.choice([*true, *known]))
        if start == end:
            continue
        rise = {**true, **known}[end] - {**true, **known}[start] + float(random.normal(0.0, 0.003))
        readings += [Reading(start, "backsight", 2.0, 3 * row), Reading("side", "intermediate", 1.5, 3 * row + 1)]
        readings += [Reading(end, "foresight", 2.0 - rise, 3 * row + 2)]
        links.append((start, end, rise))
        seen += [end] * (end not in seen)
    if not links:
        return
    runs = reduce_levels(readings, known)
    settled = adjusted(runs, known)
    free = [name for name in seen if name not in known and any(name in link[:2] for link in links)]
    design, seen_rises = np.zeros((len(links), len(free))), np.zeros(len(links))
    for i, (start, end, rise) in enumerate(links):
        seen_rises[i] = rise
        for name, sign in ((start, -1.0), (end, 1.0)):
            if name in known:
                seen_rises[i] -= sign * known[name]
            else:
                design[i, free.index(name)] += sign
    expected = dict(zip(free, np.linalg.lstsq(design, seen_rises, rcond=None)[0], strict=True)) | known
    for run in settled:
        assert run.levels == pytest.approx([expected[turn] for turn in run.turns], abs=1e-9)
        # The line of sight lies half-way between what the two ends of its set-up make of it.
        for k, (instrument, start, end) in enumerate(zip(run.instrument, run.turns[:-1], run.turns[1:], strict=True)):
            side = next(v for v in run.visits if v.setup == k + 1 and v.point == "side")
            fore = next(v for v in run.visits if v.setup == k + 1 and v.turn)
            rod = next(r.rod for r in readings if r.row == fore.row)
            assert instrument == pytest.approx((expected[start] + 2.0 + expected[end] + rod) / 2.0, abs=1e-9)
            assert side.elevation == pytest.approx(instrument - 1.5, abs=1e-9)
