"""Quick shapes agree with the library's own, on the same ground and in full."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from live_yards import ROOT, copied_yard
from shapely.affinity import translate
from shapely.geometry import Point

from terrain.ground.existing import model_ground
from terrain.review.trees import check_trees
from terrain.shape.berm import shape_berm
from terrain.site.model import GridSpec, KeepClear, Site, Tree
from terrain.site.read import read_site
from terrain.site.root_zones import RULES
from terrain.soil.measure import measure_earthwork
from terrain.soil.order import order_soil
from viewer.web.live.engine import Bench, look_quickly, set_up, shape_fully, shape_quickly
from viewer.web.live.wish import Wish, wish_of_site, with_wish
from viewer.web.window import MOST_NODES, shown_window

Change = Callable[[Wish], Wish]
CHANGES: dict[str, Change] = {
    "as it is": lambda wish: wish,
    "height": lambda wish: replace(wish, crest=(replace(wish.crest[0], height=0.28), *wish.crest[1:])),
    "place": lambda wish: replace(wish, crest=(replace(wish.crest[0], x=wish.crest[0].x + 0.3), *wish.crest[1:])),
    "slope": lambda wish: replace(wish, max_slope=0.2),
    "toe": lambda wish: replace(wish, toe=0.5),
    "side": lambda wish: replace(wish, gentle_side="east"),
    "soil": lambda wish: replace(wish, soil=12.0),
    "outline": lambda wish: replace(wish, outline=translate(wish.outline, 0.2, -0.1)),
}


@pytest.fixture(scope="module", params=["alder-bend", "larkspur-rise"])
def bench(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Bench:
    site = read_site(copied_yard(tmp_path_factory.mktemp("yard"), request.param))
    return set_up(site, model_ground(site))


@pytest.mark.parametrize("name", CHANGES)
def test_a_quick_shape_is_the_librarys_own_on_the_coarse_ground(bench: Bench, name: str) -> None:
    wish = CHANGES[name](wish_of_site(bench.site))
    quick = shape_quickly(bench, wish)
    site = with_wish(bench.site, wish)
    proposal = shape_berm(site, bench.quick)
    assert np.abs(quick.proposal.elevation - proposal.elevation).max() < 1e-9
    work = measure_earthwork(site, bench.quick, proposal)
    assert (quick.work.sod, quick.work.mulch) == pytest.approx((work.sod, work.mulch), rel=1e-6)
    order = order_soil(site, work)
    for key in ("expected", "low", "high", "quantity", "covered", "cost"):
        assert getattr(quick.order, key) == pytest.approx(getattr(order, key), rel=1e-6, abs=1e-9), key
    assert (quick.order.haul.trucks, quick.order.haul.barrows) == (order.haul.trucks, order.haul.barrows)


@pytest.mark.parametrize("name", CHANGES)
def test_a_quick_shape_tells_nearly_what_the_whole_study_tells(bench: Bench, name: str) -> None:
    wish = CHANGES[name](wish_of_site(bench.site))
    quick, study = shape_quickly(bench, wish), shape_fully(bench, wish)
    assert quick.order.expected == pytest.approx(study.order.expected, rel=0.02)
    assert float(quick.proposal.fill.max()) == pytest.approx(float(study.proposal.fill.max()), abs=0.015)
    assert look_quickly(bench, quick).reads_natural == study.review.look.reads_natural
    for rough, exact in zip(quick.trees, study.review.trees, strict=True):
        assert rough.fill_in_keep_off == exact.fill_in_keep_off == 0.0
        assert rough.share_of_root_zone_covered == pytest.approx(exact.share_of_root_zone_covered, abs=0.02)
        assert rough.deepest_fill_in_root_zone == pytest.approx(exact.deepest_fill_in_root_zone, abs=0.02)


@pytest.mark.parametrize("rule", RULES)
def test_every_rule_opens_the_page_with_the_root_zones_of_the_review(rule: str) -> None:
    """All published rules, the ones by the crown too; a tree beside the bed, so that the circles cut its fill."""
    site = read_site(ROOT / "examples" / "larkspur-rise" / "site.toml")
    west, south, *_ = site.bed.outline.bounds
    tree = Tree(name="oak", at=(west, south), trunk=0.4, flare=0.4, keep_off=1.0, dripline=4.0)
    site = replace(site, tree=(tree,), trees=replace(site.trees, rule=rule), basin=(), channel=())
    bench = set_up(site, model_ground(site))
    quick = shape_quickly(bench, wish_of_site(site))
    work = measure_earthwork(quick.site, bench.quick, quick.proposal)
    (exact,) = check_trees(quick.site, quick.proposal, work)
    (told,) = quick.trees
    assert told.keep_off == exact.keep_off
    assert told.fill_in_keep_off == exact.fill_in_keep_off
    assert told.deepest_fill_in_root_zone == pytest.approx(exact.deepest_fill_in_root_zone, abs=0.02)
    assert told.share_of_root_zone_covered == pytest.approx(exact.share_of_root_zone_covered, abs=0.02)


def test_a_name_that_changes_is_never_told_by_its_earlier_one(bench: Bench) -> None:
    """What is remembered of a bed goes by everything that it was made from, names of trees and walks too."""
    named = replace(bench, site=_renamed(bench.site, "one"))
    again = replace(bench, site=_renamed(bench.site, "two"))
    assert _held_by(named) == "the slope limit from one"
    assert _held_by(again) == "the slope limit from two"


def _renamed(site: Site, name: str) -> Site:
    """The yard with a walk of that name over its first high point."""
    first = site.berm.crest[0]
    walk = KeepClear(name=name, outline=Point(first.x, first.y).buffer(0.4))
    return replace(site, keep_clear=(walk,))


def _held_by(bench: Bench) -> str:
    """What the first high point is held by, in a quick shape."""
    return shape_quickly(bench, wish_of_site(bench.site)).proposal.crest[0].held_by


def test_the_whole_study_is_the_flow_of_the_library(bench: Bench) -> None:
    wish = replace(wish_of_site(bench.site), max_slope=0.22)
    study = shape_fully(bench, wish)
    site = with_wish(bench.site, wish)
    proposal = shape_berm(site, bench.ground)
    assert np.abs(study.proposal.elevation - proposal.elevation).max() < 1e-9
    trees = check_trees(site, proposal, measure_earthwork(site, bench.ground, proposal))
    assert study.review.trees == trees


def test_a_remembered_bed_is_never_taken_for_another(bench: Bench) -> None:
    first = wish_of_site(bench.site)
    second = replace(first, outline=translate(first.outline, 0.15, 0.0))
    before = shape_quickly(bench, first).proposal.elevation
    assert np.abs(shape_quickly(bench, second).proposal.elevation - before).max() > 1e-3
    assert np.abs(shape_quickly(bench, first).proposal.elevation - before).max() == 0.0


def test_the_ground_shown_holds_the_bed_and_stays_small(tmp_path: Path) -> None:
    site = read_site(copied_yard(tmp_path))
    ground = model_ground(replace(site, grid=GridSpec(cell=0.2)))
    shown = shown_window(site, ground.grid)
    west, south, east, north = site.bed.outline.bounds
    grid = shown.grid
    assert grid.x0 < west
    assert grid.y0 < south
    assert grid.x0 + grid.cell * (grid.nx - 1) > east
    assert grid.y0 + grid.cell * (grid.ny - 1) > north
    assert shown.of(ground.elevation).shape == grid.shape
    wide = replace(ground.grid, cell=ground.grid.cell / 40, nx=ground.grid.nx * 40, ny=ground.grid.ny * 40)
    thinned = shown_window(site, wide).grid
    assert thinned.nx * thinned.ny <= MOST_NODES
