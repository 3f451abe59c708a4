"""What narrows the order most: plugs or the supplier where they do, shots where the ground makes most of the doubt."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest
from shipped import study_of

from terrain.field.next_places import before_shooting
from terrain.flow import Study
from terrain.soil.model import Share

ROOT = Path(__file__).resolve().parents[2]


@cache
def study() -> Study:
    return study_of("alder-bend")


def doubting(**deviations: float) -> Study:
    """The study with its order's doubt, by cause, in loose m3."""
    shares = tuple(Share(cause.replace("_", " "), deviation, "test") for cause, deviation in deviations.items())
    return replace(study(), order=replace(study().order, shares=shares))


def half(span: tuple[float, float]) -> float:
    return (span[1] - span[0]) / 2.0


def test_the_cause_of_most_of_the_doubt_comes_first_with_the_range_after_it() -> None:
    first, second = before_shooting(doubting(existing_grade=0.1, sod_depth=1.0, swell=0.8, shrink=0.3, settlement=0.2))
    assert first.do.startswith("Cut five sod plugs")
    assert first.part == pytest.approx(1.0 / (0.01 + 1.0 + 0.64 + 0.09 + 0.04))
    assert second.do.startswith("Ask the supplier")


def test_the_range_after_five_plugs_is_that_of_a_sod_surer_by_the_root_of_five() -> None:
    # Errors add in squares, nearly; 1.645 deviations hold nine in ten.
    deviation = {share.cause: share.deviation for share in study().order.shares}
    after = next(one.order for one in before_shooting(study()) if one.do.startswith("Cut five"))
    supplier = sum(deviation[cause] ** 2 for cause in ("swell", "shrink"))
    left = sum(one**2 for one in deviation.values()) - 0.8 * deviation["sod depth"] ** 2 - 0.75 * supplier
    assert half(after) == pytest.approx(1.645 * math.sqrt(left), rel=0.08)


def test_the_supplier_comes_first_where_swell_makes_most() -> None:
    first, *_ = before_shooting(doubting(existing_grade=0.1, sod_depth=0.3, swell=0.8))
    assert first.do.startswith("Ask the supplier")


def test_shots_come_first_where_the_ground_makes_most() -> None:
    assert before_shooting(doubting(existing_grade=1.0, sod_depth=0.9, swell=0.5)) == ()
    assert [one.do[:3] for one in before_shooting(doubting(existing_grade=1.0, sod_depth=1.1))] == ["Cut"]
    assert before_shooting(doubting(existing_grade=0.0)) == ()


def test_on_the_shipped_example_the_range_narrows_with_each() -> None:
    spans = [half((study().order.low, study().order.high)), *(half(one.order) for one in before_shooting(study()))]
    assert len(spans) == 3
    assert spans == sorted(spans, reverse=True)
    assert spans[-1] < 0.6 * spans[0]
