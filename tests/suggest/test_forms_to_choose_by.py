"""The forms for a shipped example: clearly different, natural, led by the tree, each saying what it takes."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from random_sites import ground_on

from terrain.errors import InputError
from terrain.grid import Grid
from terrain.ground.existing import model_ground
from terrain.review.trees import soil_on_trees
from terrain.shape.berm import shape_berm
from terrain.shape.proposal import Proposal
from terrain.site.model import Site, ViewFrom
from terrain.site.read import read_site
from terrain.suggest.choice import choose
from terrain.suggest.families import MOWN
from terrain.suggest.roots import clear_of_roots
from terrain.suggest.search import CLEARLY_DIFFERENT, Suggestion, suggest
from terrain.suggest.sight import Sight, hidden_share, sight_of

FOOT = 0.3048


@pytest.fixture(scope="module")
def yard(root: Path) -> tuple[Site, Proposal, tuple[Suggestion, ...]]:
    site = read_site(root / "examples/alder-bend/site.toml")
    site = replace(site, grid=replace(site.grid, cell=0.5 * FOOT))
    ground = model_ground(site)
    return site, shape_berm(site, ground), suggest(site, ground)


def test_there_are_six_forms_or_more_by_name_and_all_read_natural(yard: tuple) -> None:
    _, _, found = yard
    assert len(found) >= 6
    assert len({one.name for one in found}) == len(found)
    assert all(one.look.reads_natural for one in found), [(one.name, one.look.words) for one in found]


def test_any_two_forms_have_a_quarter_of_their_fill_or_more_not_in_common(yard: tuple) -> None:
    _, _, found = yard
    fills = [one.proposal.fill for one in found]
    for number, one in enumerate(fills):
        for other in fills[:number]:
            assert np.abs(one - other).sum() / (one + other).sum() >= CLEARLY_DIFFERENT


def test_one_form_stays_clear_of_half_the_root_zone_that_the_drawn_one_covers(yard: tuple) -> None:
    site, drawn, found = yard
    (clear,) = (one for one in found if one.name == "clear of roots")
    covered = [
        soil_on_trees(one, proposal)[0].share_of_root_zone_covered
        for one, proposal in ((site, drawn), (clear.site, clear.proposal))
    ]
    assert 0.0 < covered[1] <= 0.5 * covered[0]


def test_one_form_can_be_mown(yard: tuple) -> None:
    (ridge,) = (one for one in yard[2] if one.name == "long ridge")
    assert ridge.proposal.steepest <= MOWN + 1e-6


def test_a_form_that_takes_less_soil_says_how_much_and_why(yard: tuple) -> None:
    _, drawn, found = yard
    for one in found:
        share = float(one.proposal.fill.sum() / drawn.fill.sum())
        assert abs(share - 1.0) <= 0.03 or f"Takes {100.0 * share:.0f} % of the soil of the drawn form" in one.sentence


def test_without_a_tree_no_bed_is_drawn_back(yard: tuple) -> None:
    assert clear_of_roots(replace(yard[0], tree=())) is None


def test_the_choice_takes_the_cheapest_that_fit_together() -> None:
    # two families: the cheap ones are alike; the best pair costs 1 + 3
    unlike = np.ones((4, 4), dtype=bool)
    unlike[0, 2] = unlike[2, 0] = False
    assert sorted(choose([0, 0, 1, 1], [8.0, 8.0], np.array([1.0, 5.0, 1.0, 3.0]), unlike)) == [0, 3]
    assert sorted(choose([0, 0, 1, 1], [8.0, 0.5], np.array([1.0, 5.0, 1.0, 3.0]), unlike)) == [0]


def test_a_ridge_across_the_line_of_sight_hides_what_lies_low_behind_it() -> None:
    """Similar triangles: eyes 1.6 m up, a 1 m ridge half-way to a walk hides it; a 0.7 m one does not (0.8 m there)."""
    grid = Grid(0.0, 0.0, 0.1, 201, 101)
    flat = np.zeros(grid.shape)
    ground = ground_on(grid, flat)
    sight = Sight("walk from window", ViewFrom("window", (0.0, 5.0)), np.array([[20.0, 5.0]]), 0.0)
    for high, hidden in ((1.0, 1.0), (0.7, 0.0)):
        ridge = np.where(np.abs(grid.x - 10.0) < 0.3, high, 0.0)[None, :] + flat
        assert hidden_share(sight, ground, ridge) == hidden


def test_names_that_the_site_does_not_have_are_refused_with_those_it_has(yard: tuple) -> None:
    with pytest.raises(InputError, match=r'--hide.*no part of the yard is called "strete".*"front walk"'):
        sight_of(yard[0], "strete from window", "--hide")
    seen = replace(yard[0], view_from=(ViewFrom("window", (6.0, 14.0)),))
    assert len(sight_of(seen, "front walk from window", "--see").places) > 100


@pytest.mark.slow
def test_forms_of_a_wished_height_stand_as_high_where_the_limits_let_them(yard: tuple) -> None:
    site = yard[0]
    found = suggest(site, model_ground(site), height=0.3)
    tops = [float(one.proposal.fill.max()) for one in found]
    assert len(tops) >= 3
    assert np.median(tops) == pytest.approx(0.3, abs=0.02)
    assert max(tops) < 0.34
