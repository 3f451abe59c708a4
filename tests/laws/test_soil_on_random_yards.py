"""Soil on hand is met to half a per cent on any yard, with features and without, wherever the limits hold that much."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest
from random_sites import random_yard
from test_features_on_random_yards import random_features

from terrain.errors import InputError
from terrain.ground.model import Ground
from terrain.shape.berm import build, shape_berm
from terrain.shape.prepared import prepare
from terrain.shape.proposal import Proposal
from terrain.shape.soil_on_hand import MOST
from terrain.site.model import Site
from terrain.soil.measure import measure_earthwork
from terrain.soil.order import order_soil

MET = 0.005  # share of the soil on hand
LEAST = 0.3  # loose m3; a yard whose limits hold less than this has no soil to speak of


def order(site: Site, ground: Ground, proposal: Proposal) -> float:
    """Soil that is ordered, loose m3: worked out by the earthwork, not by the search."""
    return order_soil(site, measure_earthwork(site, ground, proposal)).expected


def held(site: Site, ground: Ground) -> tuple[float, float]:
    """Least and most soil that the yard can take, loose m3: no height at all, and as much as the search ever tries."""
    prepared = prepare(site, ground)
    low, high = (order(site, ground, build(site, ground, prepared, factor)) for factor in (0.0, MOST))
    return low, high


def check(yard: Callable[[int], tuple[Site, Ground]], seeds: range, shares: tuple[float, ...]) -> int:
    met = 0
    for seed in seeds:
        site, ground = yard(seed)
        try:
            low, high = held(site, ground)
        except InputError:
            continue
        if high - low < LEAST:
            continue
        for share in shares:
            soil = low + share * (high - low)
            asked = replace(site, berm=replace(site.berm, soil=soil))
            proposal = shape_berm(asked, ground)
            assert abs(order(asked, ground, proposal) - soil) <= MET * soil, (seed, share)
            assert abs(proposal.soil_left) <= MET * soil
            met += 1
    return met


def test_soil_on_hand_is_met_on_a_random_yard() -> None:
    assert check(random_yard, range(1), (0.5,)) == 1


@pytest.mark.parametrize(
    "yards", [pytest.param(12, marks=pytest.mark.slow), pytest.param(40, marks=pytest.mark.fuzz)], ids="{} yards".format
)
@pytest.mark.parametrize("yard", [random_yard, random_features])
def test_soil_on_hand_is_met_on_many_random_yards(yard: Callable[[int], tuple[Site, Ground]], yards: int) -> None:
    assert check(yard, range(yards), (0.1, 0.5, 0.9)) >= 1.5 * yards


def test_more_than_the_limits_hold_is_left_over_and_said() -> None:
    site, ground = random_yard(0)
    _, high = held(site, ground)
    proposal = shape_berm(replace(site, berm=replace(site.berm, soil=2.0 * high)), ground)
    assert proposal.soil_left == pytest.approx(high, rel=0.02)
