"""Quick shapes agree with the library's own, on the same ground and in full."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import fields, replace
from pathlib import Path

import numpy as np
import pytest
from live_yards import ROOT, copied_yard
from shapely.affinity import translate
from shapely.geometry import Point

from terrain.files.summary import summary_of
from terrain.flow import run_site
from terrain.ground.existing import model_ground
from terrain.review.model import TreeSoil
from terrain.review.trees import check_trees
from terrain.shape.berm import shape_berm
from terrain.site.model import GridSpec, KeepClear, Site, Tree
from terrain.site.read import read_site
from terrain.site.root_zones import RULES
from terrain.soil.measure import measure_earthwork
from terrain.soil.order import order_soil
from terrain.soil.solid import round_offset
from viewer.web.live.engine import Bench, set_up, shape_fully, shape_quickly
from viewer.web.live.session import Session
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


def _some_quick(names: Iterable[str], quick: tuple[str, ...]) -> list[object]:
    """All of the names, of which only some are in the quick run."""
    return [name if name in quick else pytest.param(name, marks=pytest.mark.slow) for name in names]


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


@pytest.mark.parametrize("name", _some_quick(CHANGES, ("height", "outline")))
def test_a_quick_shape_tells_nearly_what_the_whole_study_tells(bench: Bench, name: str) -> None:
    wish = CHANGES[name](wish_of_site(bench.site))
    quick, study = shape_quickly(bench, wish), shape_fully(bench, wish)
    assert quick.order.expected == pytest.approx(study.order.expected, rel=0.02)
    assert float(quick.proposal.fill.max()) == pytest.approx(float(study.proposal.fill.max()), abs=0.015)
    steps = ("natural", "look here", "made")  # a sign that stands at its bound may fall on either side
    assert abs(steps.index(quick.look.verdict) - steps.index(study.review.look.verdict)) <= 1
    for rough, exact in zip(quick.trees, study.review.trees, strict=True):
        assert rough.fill_in_keep_off == exact.fill_in_keep_off == 0.0
        assert rough.share_of_root_zone_covered == pytest.approx(exact.share_of_root_zone_covered, abs=0.02)
        assert rough.deepest_fill_in_root_zone == pytest.approx(exact.deepest_fill_in_root_zone, abs=0.02)


@pytest.mark.parametrize("rule", _some_quick(RULES, ("dripline", "AS 4970:2025", "poor tolerance, over-mature")))
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
    for field in fields(TreeSoil):
        if field.name != "covered":
            assert getattr(told, field.name) == getattr(exact, field.name), field.name
    assert told.share_of_root_zone_covered == exact.share_of_root_zone_covered


def test_a_name_that_changes_is_never_told_by_its_earlier_one(bench: Bench) -> None:
    """What is remembered of a bed goes by everything that it was made from, names of trees and walks too."""
    named = replace(bench, site=_renamed(bench.site, "one"))
    again = replace(bench, site=_renamed(bench.site, "two"))
    first = shape_quickly(named, wish_of_site(named.site))
    second = shape_quickly(again, wish_of_site(again.site), first)
    assert first.proposal.crest[0].held_by == "the slope limit from one"
    assert second.proposal.crest[0].held_by == "the slope limit from two"


def _renamed(site: Site, name: str) -> Site:
    """The yard with a walk of that name over its first high point."""
    first = site.berm.crest[0]
    walk = KeepClear(name=name, outline=Point(first.x, first.y).buffer(0.4))
    return replace(site, keep_clear=(walk,))


@pytest.mark.parametrize("every", [3, pytest.param(1, marks=pytest.mark.slow)], ids=["of three", "all"])
def test_a_remembered_bed_is_never_taken_for_another(bench: Bench, every: int) -> None:
    """Every change after every other, with the earlier shape at hand, is to the last bit what it is without."""
    wishes = [change(wish_of_site(bench.site)) for change in CHANGES.values()]
    alone = [shape_quickly(bench, wish).proposal.elevation for wish in wishes]
    for start in wishes[::every]:
        earlier = shape_quickly(bench, start)
        for wish, elevation in zip(wishes, alone, strict=True):
            assert np.array_equal(shape_quickly(bench, wish, earlier).proposal.elevation, elevation)


@pytest.mark.slow
@pytest.mark.parametrize("example", ["alder-bend", "larkspur-rise"])
def test_what_is_shown_at_rest_is_to_the_last_bit_what_a_run_on_the_saved_file_answers(
    tmp_path: Path, example: str
) -> None:
    """Step by step, each on the one before; an outline that moves the grid too."""
    path = copied_yard(tmp_path, example)
    session = Session(path, lambda _: ())
    for name in ("height", "slope", "soil", "outline"):
        wish = CHANGES[name](session.saved)
        session.history = session.history.changed(wish)
        session.save(wish)
        kept = session.study(session.saved)
        run = run_site(read_site(path))
        offset = round_offset(run.proposal.mesh, run.site.bed.sod)
        assert summary_of(kept, offset) == summary_of(run, offset)
        assert np.array_equal(kept.proposal.elevation, run.proposal.elevation)
        assert np.array_equal(kept.ground.elevation, run.ground.elevation)
        assert kept.review.findings == run.review.findings


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
