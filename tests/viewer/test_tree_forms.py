"""Trees as they are published: heights, crowns and flares at the figures of the sources."""

from __future__ import annotations

import numpy as np
import pytest

from terrain.site.model import Tree
from terrain.site.standing import tree_form, trunk_radii
from viewer.pictures.tree_forms import crown, limbs, stem


def tree(name: str = "tree", trunk: float = 0.6, **more: object) -> Tree:
    return Tree(name, (0.0, 0.0), trunk, 0.6, 2.0, **more)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("name", "wide"),
    [
        *(("red oak", 14.5), ("red maple", 16.2), ("sugar maple", 14.2), ("beech", 17.3), ("yellow birch", 14.3)),
        *(("paper birch", 19.0), ("white pine", 13.6), ("hemlock", 13.0), ("red spruce", 11.9), ("balsam fir", 14.3)),
    ],
)
def test_crowns_are_as_wide_as_published_of_such_a_trunk(name: str, wide: float) -> None:
    """Open-grown crowns of a trunk of 60 cm, Russell and Weiskittel 2011, Maine; metres across."""
    assert 2.0 * tree_form(tree(name)).radius == pytest.approx(wide, abs=0.06)


def test_other_crowns_are_twenty_five_trunks_wide_and_a_measured_one_is_as_measured() -> None:
    """Coombes, Martin, Slater 2019: 24 to 27 trunks whatever the kind; 14.4 to 16.2 m for 60 cm."""
    assert 14.4 <= 2.0 * tree_form(tree("linden")).radius <= 16.2
    measured = tree_form(tree("sugar maple", dripline=4.2))
    assert (measured.radius, measured.measured) == (4.2, True)
    assert tree_form(tree("oak", species="white pine")).conifer


def test_heights_follow_the_city_plane_and_never_fall_as_trunks_grow() -> None:
    """Urban tree database, London plane, trunk of 42.9 cm: 14.17 m."""
    assert tree_form(tree(trunk=0.429)).height == pytest.approx(14.17, abs=0.01)
    heights = [tree_form(tree(trunk=wide)).height for wide in np.linspace(0.05, 2.0, 60)]
    assert (np.diff(heights) >= 0.0).all()


def test_a_flare_comes_down_to_the_trunk_as_published() -> None:
    """Trunk of 0.60 m, flare twice as wide: radii 0.600, 0.469, 0.372 and 0.306 m at 0, 0.2, 0.5 and 1.37 m."""
    radii = trunk_radii(0.3, 0.6, np.array([0.0, 0.2, 0.5, 1.37]))
    assert radii == pytest.approx([0.600, 0.469, 0.372, 0.306], abs=5e-4)


@pytest.mark.parametrize("name", ["bur oak", "white pine"])
def test_a_tree_is_drawn_within_its_form_and_its_roots_within_the_measured_flare(name: str) -> None:
    one = tree(name)
    form = tree_form(one)
    foot = (3.0, 4.0, 0.5)
    wood = stem(one, 0.6, foot, form)
    away = np.hypot(*(wood.points[:, :2] - np.array(foot[:2])).T)
    assert away.max() == pytest.approx(0.6, abs=1e-3)
    assert wood.points[:, 2].min() < 0.5, "no gap shows on a slope"
    leaves = crown(one, foot, form)
    reach = np.hypot(*(leaves.points[:, :2] - np.array(foot[:2])).T)
    assert reach.max() < 1.06 * form.radius + 0.5
    assert reach.max() > 0.9 * form.radius
    assert leaves.points[:, 2].min() > 0.5 + form.clear - 0.05 * form.height
    assert leaves.points[:, 2].max() < 0.5 + 1.06 * form.height
    assert limbs(one, foot, form).points[:, 2].max() < 0.5 + form.height
    assert np.array_equal(crown(one, foot, form).points, leaves.points), "the same tree looks the same every time"
