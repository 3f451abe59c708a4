"""Mulch stops short of every flare, gravel fills the foot of a dig, both measured to their closed form."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from berm_yards import StarYard, circle, raised_cosine, stages

from terrain.errors import InputError
from terrain.shape.berm import shape_berm
from terrain.site.features import Basin
from terrain.site.model import Soil, Tree
from terrain.soil.measure import measure_earthwork
from terrain.soil.model import Earthwork
from terrain.soil.order import Item, Order, order_soil

POOL = Basin("pool", depth=0.5, center=(2.6, 0.0), size=(1.2, 0.9), clearance=0.1, side_slope=2.0, gravel=0.15)


def yard_with(**features: object) -> tuple[Earthwork, Order]:
    site, ground, _ = stages(StarYard(circle(5.0), raised_cosine(0.5)), cell=0.08, mulch=0.08, soil=Soil())
    site = replace(site, **features)
    work = measure_earthwork(site, ground, shape_berm(site, ground))
    return work, order_soil(site, work)


def cover(order: Order, name: str) -> Item:
    return next(one for one in order.covers if one.name == name)


def test_gravel_fills_the_foot_of_the_pit() -> None:
    # A floor of 1.4 m by 1.1 m, sides 2:1 upright: 0.15 m of gravel is a pit of that depth; delivered loose it is 1.11
    # of the bank and laid 0.95 of it (FM 5-434, sand or gravel).
    laid = 0.15 * 1.4 * 1.1 + 0.15 * 0.075 * (1.4 + 1.1) + math.pi * 0.075**2 * 0.15 / 3.0
    work, order = yard_with(basin=(POOL,))
    assert work.gravel == pytest.approx(laid, rel=0.02)  # the mesh lays its own corners along the edge of the floor
    assert cover(order, "gravel").expected == pytest.approx(work.gravel * 1.11 / 0.95, rel=1e-12)


def test_gravel_is_no_soil() -> None:
    (_, with_gravel), (_, without) = yard_with(basin=(POOL,)), yard_with(basin=(replace(POOL, gravel=0.0),))
    assert with_gravel.expected == without.expected


def test_gravel_as_deep_as_the_dig_is_refused() -> None:
    with pytest.raises(InputError, match=r'"pool" gravel: 50 cm leaves no room in a dig of 50 cm'):
        yard_with(basin=(replace(POOL, gravel=0.5),))


def test_mulch_stops_six_inches_short_of_a_flare() -> None:
    # A keep-off no wider than the flare: the bare ring is six inches wide all round.
    tree = Tree("oak", (2.0, 0.0), trunk=0.5, flare=0.6, keep_off=0.6)
    work, order = yard_with(tree=(tree,))
    ring = math.pi * ((0.6 + 0.1524) ** 2 - 0.6**2)
    assert work.worked_area - work.mulch_area == pytest.approx(ring, rel=0.01)
    assert cover(order, "mulch").expected == pytest.approx(0.08 * work.mulch_area, rel=1e-12)


def test_mulch_covers_the_worked_ground_where_the_keep_off_holds_it_back_further() -> None:
    work, _ = yard_with(tree=(Tree("oak", (2.0, 0.0), trunk=0.5, flare=0.6, keep_off=1.0),))
    assert work.mulch_area == pytest.approx(work.worked_area, rel=1e-9)
