"""Where neither drops nor pools are stated, a pool is proposed where the line turns, with a drop at its head."""

from __future__ import annotations

import math
import tomllib
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from random_streams import random_stream

from terrain.ground import Ground, model_ground
from terrain.review.stream_drops import drop_findings
from terrain.shape.berm import shape_berm
from terrain.shape.turn_pools import pooled
from terrain.site.model import Site
from terrain.site.read import build_site
from terrain.site.streams import Stream

INCH = 0.0254


def bent(*degrees: float, leg: float = 1.5) -> Stream:
    """A stream of legs of 1.5 m that turns by so many degrees at each corner."""
    ways = np.radians(np.cumsum([0.0, *degrees]))
    line = np.vstack([[0.0, 0.0], np.cumsum(leg * np.column_stack([np.cos(ways), np.sin(ways)]), 0)])
    return Stream("run", tuple(map(tuple, line.tolist())), 0.3, 0.13)


@pytest.mark.parametrize(("degrees", "number"), [((29.0,), 0), ((31.0,), 1), ((60.0, -60.0), 2), ((10.0, 45.0), 1)])
def test_a_pool_lies_at_every_turn_of_thirty_degrees(degrees: tuple[float, ...], number: int) -> None:
    stream = bent(*degrees)
    pools = pooled(stream, ()).pools
    assert pools is not None
    assert len(pools) == number
    turned = [corner for corner, angle in zip(stream.line[1:-1], degrees, strict=True) if abs(angle) >= 30.0]
    assert [pool.at for pool in pools] == [pytest.approx(corner, abs=1e-9) for corner in turned]
    assert all(pool.depth == pytest.approx(4.0 * INCH) for pool in pools)  # 3 to 6 in: common practice


def test_a_bend_of_many_corners_is_one_turn() -> None:
    pools = pooled(bent(*[6.0] * 12, leg=0.05), ()).pools
    assert pools is not None
    assert len(pools) == 0  # so short a line has no room for one
    angles = [0.0] * 8 + [9.0] * 8 + [0.0] * 8
    pools = pooled(bent(*angles, leg=0.12), ()).pools
    assert pools is not None
    assert len(pools) == 1


@pytest.mark.parametrize("stated", [{"pools": ()}, {"drops": ()}])
def test_what_is_stated_stands(stated: dict[str, Any]) -> None:
    stream = replace(bent(60.0), **stated)
    assert pooled(stream, ()) is stream


@pytest.fixture(scope="module")
def fields() -> dict[str, Any]:
    """A random mound whose stream leaves its top and turns twice."""
    found = random_stream(5)
    stream = {key: one for key, one in found["stream"][0].items() if key not in ("drops", "pools")}
    (x0, y0), *_, (x1, y1) = stream["line"]
    along, aside = (x1 - x0, y1 - y0), (y0 - y1, x1 - x0)
    stream["line"] = [
        [x0 + share * along[0] + out * aside[0], y0 + share * along[1] + out * aside[1]]
        for share, out in ((0.0, 0.0), (0.3, 0.12), (0.6, -0.12), (1.0, 0.0))
    ]
    return {**found, "stream": [{**stream, "width": 0.3, "side_slope": 1.0}]}


@pytest.fixture(scope="module")
def yard(fields: dict[str, Any]) -> tuple[Site, Ground]:
    site = build_site(fields)
    return site, model_ground(site)


def test_each_pool_has_a_drop_at_its_head_and_the_rule_of_step_pools_holds(yard: tuple[Site, Ground]) -> None:
    section = shape_berm(*yard).streams[0].section
    assert section.pools_proposed
    assert len(section.pools) >= 1
    heads = [min(abs(drop.station - pool.start) for drop in section.drops) for pool in section.pools]
    assert max(heads) < 1e-9
    assert max(drop.height for drop in section.drops) <= yard[0].stream[0].highest_drop + 1e-9
    # Abrahams, Li and Atkinson, Water Resources Research 31 (1995): 1 to 2; treads that fall take a little off.
    assert 0.5 <= section.steepness <= 2.0
    assert math.isclose(section.pools[0].sill - section.pools[0].floor, 4.0 * INCH, abs_tol=1e-9)


def test_the_lines_to_copy_give_the_same_stream(yard: tuple[Site, Ground], fields: dict[str, Any]) -> None:
    site, ground = yard
    section = shape_berm(site, ground).streams[0].section
    (found,) = drop_findings(site, [section])
    lines = found.text.partition("these: ")[2].partition(". Copy")[0].replace(" and pools", "\npools")
    copied = tomllib.loads(lines)
    again = build_site({**fields, "stream": [{**fields["stream"][0], **copied}]})
    same = shape_berm(again, ground).streams[0].section
    assert not same.pools_proposed
    assert [(pool.start, pool.end) for pool in same.pools] == [
        pytest.approx((pool.start, pool.end), abs=0.02) for pool in section.pools
    ]
    assert [drop.station for drop in same.drops] == pytest.approx([drop.station for drop in section.drops], abs=0.02)
