"""Mutants: the slips that published pages and hurried hands make. Each check passes with ours and fails with the slip.

A check here is a published figure, its tolerance, and a rule handed to it; the rule is ours, or ours with one slip. A
check that a slip also passes would prove nothing.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import pytest

from terrain.limits import FOOT, INCH
from terrain.review.pits import laid_back
from terrain.review.setbacks import cut_setback, toe_setback
from terrain.site.root_zones import combined_trunk, root_zone_radius, structural_root_zone, trunk_from_girth

Rule = Callable[[float], float]


def feet_for_inches(rule: str) -> Rule:
    return lambda inches: root_zone_radius(rule, inches * INCH) / FOOT


def metres(rule: str) -> Rule:
    return lambda trunk: root_zone_radius(rule, trunk)


@dataclass(frozen=True)
class Slip:
    """A rule, what it gives for a figure by whom, and the same rule with a slip."""

    name: str
    source: str
    rule: Rule
    mutant: Rule
    given: float
    published: float
    within: float = 0.006


EDINA, NC_STATE = feet_for_inches("1.5 ft per inch"), feet_for_inches("1.25 ft per inch")
BS, AS = metres("BS 5837:2012"), metres("AS 4970-2009")
SLIPS = (
    Slip("radius as diameter", "City of Edina MN: 10 in, 15 ft", EDINA, lambda d: EDINA(d) / 2.0, 10, 15.0),
    Slip("diameter as girth", "City of Edina MN: 10 in, 15 ft", EDINA, lambda d: EDINA(d / math.pi), 10, 15.0),
    Slip("from the trunk's face", "Ventura County: 11 in, 16.5 ft", EDINA, lambda d: EDINA(d) + d / 24.0, 11, 16.5),
    Slip("1.5 under the name of 1.25", "NC State Extension fig. 3: 12 in, 15 ft", NC_STATE, EDINA, 12, 15.0),
    Slip("2 ft per inch of the quizzes", "U. Minnesota: 15 ft for 10 in", EDINA, lambda d: 2.0 * d, 10, 15.0),
    Slip("1 in per inch of the quiz pages", "City of Edina MN", EDINA, lambda d: d / 12.0, 10, 15.0),
    Slip("ten diameters of the 2005 edition", "BS 5837:2012: 1.0 m, 452 m2", BS, lambda d: 10.0 * d, 1.0, 12.0),
    Slip("cap left out", "BS 5837:2012: 1.5 m, 15 m", BS, lambda d: 12.0 * d, 1.5, 15.0),
    Slip("floor left out", "AS 4970-2009: 0.10 m, 2 m", AS, lambda d: 12.0 * d, 0.10, 2.0),
    Slip("millimetres as centimetres", "AS 4970-2009: 32 cm, 3.84 m", AS, lambda d: AS(10.0 * d), 0.32, 3.84),
    Slip(
        "structural zone without its floor",
        "AS 4970-2009 cl. 3.3.5: under 0.15 m, 1.5 m",
        structural_root_zone,
        lambda d: 0.64 * (50.0 * d) ** 0.42,
        0.10,
        1.5,
    ),
    Slip(
        "structural zone in centimetres",
        "AS 4970-2009 cl. 3.3.5: 0.60 m, 2.670 m",
        structural_root_zone,
        lambda d: structural_root_zone(d / 100.0),
        0.60,
        2.670,
    ),
    Slip(
        "girth not over pi",
        "DBH = girth / pi: 57 in round, 18.14 in through",
        trunk_from_girth,
        lambda girth: girth,
        57.0,
        18.144,
    ),
    Slip(
        "toe setback of a cut",
        "Topeka KS 17.05.190(c): 12 ft high, 6 ft",
        lambda feet: toe_setback(feet * FOOT) / FOOT,
        lambda feet: cut_setback(feet * FOOT) / FOOT,
        12.0,
        6.0,
    ),
    Slip(
        "setback without its least",
        "Topeka KS 17.05.190(b): 3 ft deep, 2 ft",
        lambda feet: cut_setback(feet * FOOT) / FOOT,
        lambda feet: feet / 5.0,
        3.0,
        2.0,
    ),
    Slip(
        "pit sides swapped, rise to run",
        "29 CFR 1926 Subpart P, table B-1: type C, 8 ft deep, 12 ft back",
        laid_back,
        lambda deep: deep / 1.5,
        8.0,
        12.0,
    ),
    Slip(
        "6 in within 10 ft called 6 %",
        "IRC R401.3: 6 in within 10 ft is 5 %",
        lambda inches: 100.0 * inches * INCH / (10.0 * FOOT),
        lambda inches: inches,
        6.0,
        5.0,
    ),
)


@pytest.mark.parametrize("slip", SLIPS, ids=lambda slip: slip.name)
def test_ours_gives_the_published_figure_and_the_slip_does_not(slip: Slip) -> None:
    assert slip.rule(slip.given) == pytest.approx(slip.published, abs=slip.within), slip.source
    assert abs(slip.mutant(slip.given) - slip.published) > 5.0 * slip.within


STEMS_MM = (100, 120, 140, 160, 180, 200, 200, 220)


def test_eight_stems_go_by_their_mean_and_the_square_root_of_squares_is_told_from_it() -> None:
    # BS 5837:2012, more than five stems (value from memory): 466.69 mm; the rule for fewer would give 480.00.
    stems = [mm / 1000.0 for mm in STEMS_MM]
    ours, slip = combined_trunk(stems, "BS 5837:2012"), math.sqrt(sum(stem * stem for stem in stems))
    assert 1000.0 * ours == pytest.approx(466.69, abs=0.006)
    assert 1000.0 * slip == pytest.approx(480.00, abs=0.006)


# Mound height allowed at a distance from a stem: (r - keep-off) / run; arithmetic, four worked checks.
HEIGHTS = [(10.0, 4.0, 18.0, 2.0), (15.0, 3.0, 30.0, 5.0), (10.0, 4.0, 10.0, 0.0), (10.0, 4.0, 6.0, 0.0)]


@pytest.mark.parametrize(("keep_off", "run", "away", "high"), HEIGHTS)
def test_soil_rises_from_the_keep_off_no_faster_than_the_limit(
    keep_off: float, run: float, away: float, high: float
) -> None:
    """On the built surface, level ground, a wish far over what is allowed; feet."""
    import numpy as np
    from random_sites import ground_on, site_with
    from shapely.geometry import box

    from terrain.grid import Grid
    from terrain.numerics.disc import depth_at, fill_facets
    from terrain.shape.berm import shape_berm
    from terrain.site.model import Tree

    grid = Grid(-20.0, -25.0, 0.25, 220, 201)
    tree = Tree("oak", (0.0, 0.0), 24 * INCH, flare=1.0 * FOOT, keep_off=keep_off * FOOT)
    site = site_with(box(-18.0, -23.0, 32.0, 23.0), [(14.0, 0.0, 5.0)], 1.0 / run, [tree], toe=0.0)
    proposal = shape_berm(site, ground_on(grid, np.zeros(grid.shape)))
    # Read off the mesh, whose edges follow the circle; the raster would smear the foot over a cell.
    built = float(depth_at(fill_facets(proposal.mesh), np.array([[away * FOOT, 0.0]]))[0]) / FOOT
    # At most what is allowed, and not much less: the limit surface keeps 2 % to spare, corners cost some, and the
    # straight face starts half the width of the eased foot further out, which is three cells wide at least.
    further = 1.5 * grid.cell / FOOT / run
    assert built <= high + 1e-6
    assert built >= 0.94 * (high - further)
