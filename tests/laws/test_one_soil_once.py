"""Odd yards by the dozen: no soil is bought twice, turned sod takes up room, order and stakes share one settlement."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from contradictions import contradictions
from odd_yards import odd_sites

from terrain.errors import InputError
from terrain.flow import Study, run_site
from terrain.numerics.prisms import prism_volume
from terrain.site.model import Site
from terrain.site.read import read_site
from terrain.soil.ledger import sums
from terrain.soil.order import order_soil
from terrain.soil.stone import walls
from terrain.soil.what_if import WhatIf
from terrain.soil.words import sure_words

CELL = 0.3  # metres: figures are compared with each other, not with the ground
FEW, SOME, MANY = range(4), range(4, 24), range(24, 64)


def studies(seeds: Iterable[int], **bed: object) -> Iterator[tuple[int, Study]]:
    for yard, site in odd_sites(seeds):
        try:
            yield yard.seed, run_site(replace(site, bed=replace(site.bed, **bed)), resolution=CELL)
        except InputError:
            continue


def built_by_the_stakes(study: Study) -> float:
    """Volume between stripped ground and the grade that stakes mark for day one, m3: the mesh, triangle by triangle."""
    mesh, bed = study.proposal.mesh, study.site.bed
    inside = mesh.triangles[mesh.inside]
    rise = np.maximum(mesh.proposed - mesh.existing, 0.0)
    lowered = np.minimum(mesh.proposed - mesh.existing, 0.0)
    day_one = mesh.existing + (1.0 + study.site.soil.settlement) * rise + lowered
    stripped = mesh.existing - bed.sod
    return prism_volume(mesh.points, inside, stripped, day_one).fill + bed.topsoil * study.work.worked_area


def check_the_ledger(study: Study) -> None:
    order, work = study.order, study.work
    comes, goes = sums(order.ledger)
    assert sum(comes.values()) == pytest.approx(sum(goes.values()), abs=1e-9)
    stands = sum(goes.get(where, 0.0) for where in ("mound", "planting", "topsoil"))
    # The fill is that of the closed solid, which leaves out what is thinner than its corners are apart.
    assert stands == pytest.approx(built_by_the_stakes(study), rel=1e-5, abs=1e-5)
    assert work.trench == pytest.approx(sum(wall.trench_volume for wall in walls(study.site)), abs=1e-12)
    assert work.sod_on_digs + work.cut_below_sod == pytest.approx(work.cut_bank + work.trench, abs=1e-9)
    stripped = sum(one.bank for one in order.ledger if one.comes == "stripped")
    assert stripped == pytest.approx(work.sod + work.topsoil, abs=1e-9)
    assert sum(one.bank for one in order.ledger if one.comes == "dug") == pytest.approx(work.cut_below_sod, abs=1e-9)
    assert sum(one.loose for one in order.ledger if one.goes == "leaves") == pytest.approx(order.leaves, abs=1e-9)


def check_turned_sod(study: Study) -> None:
    """Sod that stays saves what it fills, and what is left of the difference to no sod is its shrink."""
    site, work = study.site, study.work
    hauled, turned = (
        order_soil(replace(site, bed=replace(site.bed, sod_leaves=leaves)), replace(work, made_for=""))
        for leaves in (True, False)
    )
    in_fill = next((one.placed for one in turned.ledger if one.goes == "mound" and one.comes == "stripped"), 0.0)
    per_placed = hauled.working["brought_per_placed"]
    if turned.expected > 0.0 and hauled.working["cut_in_fill"] == turned.working["cut_in_fill"]:
        assert hauled.expected - turned.expected == pytest.approx(in_fill * per_placed, abs=1e-9)
    assert turned.leaves <= hauled.leaves + 1e-9


def check_soil_on_hand(study: Study) -> None:
    """What lies there and what is bought are together enough with the chance asked for; nothing is bought twice."""
    for share in (0.5, 1.0, 2.0):
        heap = share * study.order.expected
        order = order_soil(_with_heap(study.site, heap), replace(study.work, made_for=""))
        assert order.on_hand == heap
        assert order.expected == pytest.approx(study.order.expected, rel=1e-12)
        step = order.supply.bag or order.supply.step
        missing = max(0.0, order.needed - heap)
        assert missing - 1e-9 <= order.quantity <= missing + 2.0 * step + 1e-9
        said = " ".join(sure_words(order, study.site.units))
        assert ("left over" in said) is (share == 2.0)
        if missing > 0.0:
            assert order.covered >= order.chance - 1e-9


def _with_heap(site: Site, heap: float) -> Site:
    return replace(site, berm=replace(site.berm, soil=heap or None))


def check(seeds: Iterable[int]) -> int:
    done = 0
    for _, study in studies(seeds):
        check_the_ledger(study)
        check_turned_sod(study)
        assert not list(contradictions(finding.text for finding in study.review.findings))
        if study.order.expected > 0.3:
            check_soil_on_hand(study)
        done += 1
    return done


def test_a_few_odd_yards_have_a_wall_with_its_trench() -> None:
    assert any(walls(site) for _, site in odd_sites(FEW))


def test_one_soil_once_on_a_few_odd_yards() -> None:
    assert check(FEW) >= 2


@pytest.mark.parametrize(
    ("seeds", "least"),
    [pytest.param(SOME, 15, marks=pytest.mark.slow), pytest.param(MANY, 30, marks=pytest.mark.fuzz)],
    ids=["20 yards", "40 yards"],
)
def test_one_soil_once_on_many_odd_yards(seeds: range, least: int) -> None:
    assert check(seeds) >= least


def test_a_mound_made_from_soil_on_hand_buys_the_margin_alone() -> None:
    (_, study), *_ = studies([2])
    site = study.site
    heap = 1.2 * study.order.expected
    shaped = run_site(site, WhatIf(soil=heap), CELL, ground=study.ground, earlier=study)
    assert shaped.order.on_hand == heap
    margin = shaped.order.needed - shaped.order.expected
    assert shaped.order.quantity <= margin + 2.0 * shaped.order.supply.step
    assert shaped.order.expected <= heap * 1.005
    assert shaped.bed is study.bed


def test_an_earlier_run_is_used_where_nothing_it_follows_from_differs_and_only_there() -> None:
    (_, first), *_ = studies([2])
    lower = run_site(first.site, WhatIf(scale=0.5), ground=first.ground, earlier=first)
    assert lower.bed is first.bed
    assert lower.order.expected < first.order.expected
    fresh = run_site(first.site, WhatIf(scale=0.5), ground=first.ground)
    assert fresh.order == lower.order
    clear = replace(first.site, keep_clear=first.site.keep_clear[1:], tree=first.site.tree[1:])
    assert run_site(clear, ground=first.ground, earlier=first).bed is not first.bed


def test_a_resolution_is_the_same_flow_on_a_coarser_grid(root: Path) -> None:
    site = read_site(root / "examples/alder-bend/site.toml")
    fine = run_site(site, resolution=0.12)
    coarse = run_site(site, None, 0.2, ground=fine.ground)
    assert (fine.ground.grid.cell, coarse.ground.grid.cell) == (0.12, 0.2)
    assert coarse.order.expected == pytest.approx(fine.order.expected, rel=0.01)
    assert run_site(site, None, 0.05, ground=fine.ground).order == fine.order
    for wrong, words in ((0.0, "no cell size"), (-1.0, "no cell size"), (float("nan"), "not a finite number")):
        with pytest.raises(InputError, match=words):
            run_site(site, None, wrong)
