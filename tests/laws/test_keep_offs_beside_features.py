"""No soil and no cut in any keep-off, with basins, channels and retained edges set about it; and so in the files."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from random_sites import random_yard

from terrain.errors import InputError
from terrain.files.delivered import delivered_mesh
from terrain.files.keep_off_proof import prove_keep_offs
from terrain.files.meshes import write_meshes
from terrain.ground.model import Ground
from terrain.numerics.disc import TOUCH, cut_facets, disc_content, fill_facets, nearest_facet
from terrain.review.trees import check_trees
from terrain.shape.berm import shape_berm
from terrain.shape.proposal import Proposal
from terrain.site.model import Basin, Channel, RetainedEdge, Site
from terrain.site.root_zones import keep_off_radius
from terrain.soil.measure import measure_earthwork

# The quick part, the share of CI and all of them: how many yards, and how many of those have a tree at the least.
QUICK = pytest.param(range(3), 2, id="3 yards")
SOME = pytest.param(range(3, 18), 10, marks=pytest.mark.slow, id="15 yards")
ALL = pytest.param(range(18, 58), 30, marks=pytest.mark.fuzz, id="40 yards")


def with_features(site: Site, seed: int) -> Site:
    """Two basins, one of them hard by a trunk, a channel and a retained edge, anywhere in the bed."""
    rng = np.random.default_rng(1000 + seed)
    west, south, east, north = site.bed.outline.bounds

    def anywhere() -> tuple[float, float]:
        return float(rng.uniform(west, east)), float(rng.uniform(south, north))

    def by_a_trunk() -> tuple[float, float]:
        tree = site.tree[0]
        away = keep_off_radius(tree, site.trees.rule) + rng.uniform(0.3, 1.0)
        turn = rng.uniform(0.0, 2.0 * np.pi)
        return tree.at[0] + away * float(np.cos(turn)), tree.at[1] + away * float(np.sin(turn))

    basins = []
    for number in range(2):
        place = by_a_trunk() if site.tree and number else anywhere()
        size, deep = float(rng.uniform(0.4, 1.0)), float(rng.uniform(0.1, 0.4))
        basins.append(Basin(f"pool {number}", deep, center=place, size=(size, size), clearance=0.05))
    channel = Channel("rill", (anywhere(), anywhere()), 0.2, 0.1, 1.0)
    edge = RetainedEdge("stones", (anywhere(), anywhere()), 0.2)
    return replace(site, basin=tuple(basins), channel=(channel,), retained_edge=(edge,))


@cache
def shaped(seed: int) -> tuple[Site, Ground, Proposal] | None:
    """A random yard with features, shaped, without the digs that are refused there; None for one without a tree."""
    plain, ground = random_yard(seed)
    if not plain.tree:
        return None
    site = with_features(plain, seed)
    while True:
        try:
            return site, ground, shape_berm(site, ground)
        except InputError as refused:
            kept = replace(
                site,
                basin=tuple(basin for basin in site.basin if f'"{basin.name}"' not in str(refused)),
                channel=tuple(channel for channel in site.channel if f'"{channel.name}"' not in str(refused)),
            )
            if kept == site:
                raise
            site = kept


@pytest.mark.parametrize(("seeds", "least"), [QUICK, SOME, ALL])
def test_nothing_is_laid_or_dug_in_any_keep_off(seeds: range, least: int) -> None:
    yards = [found for seed in seeds if (found := shaped(seed)) is not None]
    assert len(yards) >= least
    for site, _, proposal in yards:
        for tree in site.tree:
            radius = keep_off_radius(tree, site.trees.rule)
            for facets in (fill_facets(proposal.mesh), cut_facets(proposal.mesh)):
                assert nearest_facet(facets, tree.at)[0] > radius - TOUCH
                assert disc_content(facets, tree.at, radius).area == 0.0


# Retained edges that cross a keep-off, and digs beside one that lies outside the bed, or whose sides it stops: each
# once let soil or a cut over the circle by up to half a metre.
@pytest.mark.parametrize(
    "seed", [26, 82, 171, *(pytest.param(seed, marks=pytest.mark.slow) for seed in (33, 37, 134, 185, 212))]
)
def test_circles_outside_the_worked_ground_hold_too(seed: int) -> None:
    found = shaped(seed)
    assert found is not None
    site, _, proposal = found
    for tree in site.tree:
        radius = keep_off_radius(tree, site.trees.rule)
        for facets in (fill_facets(proposal.mesh), cut_facets(proposal.mesh)):
            assert nearest_facet(facets, tree.at)[0] > radius - TOUCH


@pytest.mark.parametrize(("seeds", "least"), [SOME, ALL])
def test_the_files_of_random_yards_pass_the_proof(seeds: range, least: int, tmp_path: Path) -> None:
    proved = 0
    for seed in seeds:
        found = shaped(seed)
        if found is None:
            continue
        site, ground, proposal = found
        folder = tmp_path / str(seed)
        folder.mkdir()
        files = write_meshes(folder, delivered_mesh(site, proposal).mesh, 0.05)
        checks = check_trees(site, proposal, measure_earthwork(site, ground, proposal))
        # What snapping leaves at a circle, and the rounding of the files.
        assert prove_keep_offs(folder, files.names, files.offset, checks).tolerance < TOUCH + 1e-5
        proved += 1
    assert proved >= least
