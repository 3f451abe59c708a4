"""No stake is driven inside a keep-off, on any yard; those that move stay on their line and say so. Invented yards."""

from __future__ import annotations

import math
import sys
from pathlib import Path

import pytest
from shapely.geometry import LineString, Point, box

from terrain.field.setout.model import Spot
from terrain.field.setout.off_roots import STAND_OFF, off_keep_offs
from terrain.field.setout.places import stake_spots
from terrain.shape.berm import shape_berm
from terrain.site.model import Site
from terrain.site.root_zones import keep_off_radius

sys.path.append(str(Path(__file__).parents[1] / "laws"))
from random_sites import random_yard, site_with


def inside(site: Site, spots: tuple[Spot, ...]) -> list[str]:
    """Names of stakes nearer to a trunk than its keep-off, but for rounding."""
    return [
        spot.name
        for spot in spots
        for tree in site.tree
        if math.dist(spot.at, tree.at) < keep_off_radius(tree, site.trees.rule) - 1e-6
    ]


def staked(seed: int) -> tuple[Site, tuple[Spot, ...]]:
    site, ground = random_yard(seed, 0.25)
    proposal = shape_berm(site, ground)
    west, south, east, north = site.bed.outline.bounds
    middle = (south + north) / 2.0
    lines = [("A", LineString([(west, middle), (east, middle)]))]
    lines += [("B", LineString([(tree.at[0], south), (tree.at[0] + 0.1, north)])) for tree in site.tree[:1]]
    return site, stake_spots(site, ground, proposal, 0.5, lines)


@pytest.mark.parametrize("seed", range(8))
def test_no_stake_of_a_random_yard_stands_in_a_keep_off(seed: int) -> None:
    site, spots = staked(seed)
    assert len(spots) > 10
    assert inside(site, spots) == []


@pytest.mark.slow
def test_no_stake_of_a_hundred_random_yards_stands_in_a_keep_off() -> None:
    moved = 0
    for seed in range(8, 108):
        site, spots = staked(seed)
        assert inside(site, spots) == [], seed
        outline = site.bed.outline.boundary
        for spot in spots:
            if "moved" in spot.what:
                moved += 1
                assert spot.name[0] != "O" or outline.distance(Point(spot.at)) < 1e-6, (seed, spot)
    assert moved > 50  # or the yards would prove nothing


def yard() -> Site:
    from terrain.site.model import Tree

    trees = [Tree("oak", (5.0, 0.0), 0.3, 0.4, 1.0), Tree("elm", (6.5, 0.0), 0.3, 0.4, 1.0)]
    return site_with(box(0, 0, 20, 8), [(10.0, 4.0, 0.5)], 0.25, trees)


def test_a_stake_moves_along_its_line_past_keep_offs_that_meet() -> None:
    line = LineString([(0.0, 0.0), (20.0, 0.0)])
    marked = [(Spot("O1", "outline", (x, 0.0)), line) for x in (3.9, 4.5, 5.9, 8.0)]
    spots = list(off_keep_offs(yard(), marked))
    # The circles of 1 m about 5 and 6.5 close the line from 4.0 to 7.5.
    wide = 7.5 + STAND_OFF
    assert [spot.at for spot in spots] == [
        (3.9, 0.0),
        (pytest.approx(4.0 - STAND_OFF, abs=1e-3), 0.0),
        (pytest.approx(wide, abs=1e-3), 0.0),
        (8.0, 0.0),
    ]
    assert spots[1].what == "outline, moved 0.51 m off the keep-off of oak"
    assert [spot.what for spot in spots[::3]] == ["outline", "outline"]


def test_the_sheet_of_the_shipped_example_names_the_stakes_that_moved() -> None:
    from terrain.field.setout.set_out import set_out
    from terrain.field.setout.words import reading_notes
    from terrain.flow import run_site
    from terrain.site.read import read_site
    from viewer.page.subject import section_lines

    study = run_site(read_site(Path(__file__).parents[2] / "examples" / "alder-bend" / "site.toml"))
    sections = [(section.letter, section.line) for section in section_lines(study.site, study.proposal)]
    stakes = set_out(study, sections)
    moved = [stake.name for stake in stakes.stakes if "off the keep-off of bur oak" in stake.what]
    assert len(moved) >= 2  # stakes that stood inside the oak's keep-off
    assert any(
        "No stake is driven inside a keep-off: " + ", ".join(moved) in note
        for note in reading_notes(stakes, "ft", 0.08)
    )


def test_a_stake_with_nowhere_to_go_is_left_out() -> None:
    lines = (None, LineString([(4.8, 0.0), (5.2, 0.0)]))
    assert list(off_keep_offs(yard(), [(Spot("D1", "floor of pool", (5.0, 0.2)), line) for line in lines])) == []
