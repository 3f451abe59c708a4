"""The grid: friendly cells, enough nodes and not too many, no far shot that blows it up."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from examples_drawn import drawn
from hypothesis import given, settings, strategies as st
from real_ground import smooth_garden, spread_out
from shapely.affinity import rotate, scale, translate
from shapely.geometry import Point, box
from survey_sites import BED, FOOT, site_of, with_cell

from terrain.errors import InputError
from terrain.ground.yard import grid_words, yard_bounds, yard_grid
from terrain.site.model import Building, KeepClear, Site, Tree
from terrain.units import unit_length


def garden_site(bed: object = BED, **options: object) -> Site:
    random = np.random.default_rng(3)
    return site_of(smooth_garden(spread_out(50, random), random, 0.02), bed, **options)  # type: ignore[arg-type]


def covers(site: Site, west: float, south: float, east: float, north: float) -> bool:
    grid = yard_grid(site)
    return bool(grid.x[0] <= west and grid.y[0] <= south and grid.x[-1] >= east and grid.y[-1] >= north)


def test_grid_covers_bed_shots_trees_and_buildings_with_a_margin() -> None:
    site = garden_site()
    house = Building("house", box(-4.0, 2.0, -1.0, 9.0))
    walk = KeepClear("walk", box(3.0, 12.0, 9.0, 15.0))
    site = replace(site, building=(house,), keep_clear=(walk,))
    low, high = site.survey.shots[:, :2].min(axis=0), site.survey.shots[:, :2].max(axis=0)
    cell = yard_grid(site).cell
    assert covers(site, -4.0 - 2 * cell, low[1] - 2 * cell, high[0] + 2 * cell, 15.0 + 2 * cell)


@given(
    size=st.floats(2.0, 200.0),
    shape=st.floats(0.2, 1.0),
    angle=st.floats(0.0, 180.0),
    units=st.sampled_from(["ft", "m"]),
    room=st.floats(0.01, 400.0),
)
@settings(max_examples=drawn(60))
def test_chosen_cell_is_friendly_and_sized_for_the_bed(
    size: float, shape: float, angle: float, units: str, room: float
) -> None:
    bed = rotate(scale(box(0.0, 0.0, 1.0, 1.0), size, size * shape), angle)
    corners = np.array(box(*bed.buffer(room).bounds).exterior.coords)[:4]
    site = site_of(np.column_stack([corners, np.zeros(4)]), bed)
    site = replace(site, units=units, tree=())  # type: ignore[arg-type]
    grid = yard_grid(site)
    shown = grid.cell / (FOOT if units == "ft" else 1.0)
    leading = shown / 10.0 ** np.floor(np.log10(shown) + 1e-9)
    assert min(abs(leading - friendly) for friendly in (1.0, 2.0, 2.5, 5.0)) < 1e-6
    assert grid.nx * grid.ny <= 150_000
    # 150,000 nodes over a yard of four bed diagonals each way leave 95 along one; a friendly size takes up to 2.5.
    west, south, east, north = site.bed.outline.bounds
    assert np.hypot(east - west, north - south) / grid.cell > 38.0


def test_far_shot_does_not_blow_the_grid_up() -> None:
    site = garden_site()
    far = np.vstack([site.survey.shots, [[5000.0, -3000.0, 40.0]]])
    survey = replace(site.survey, shots=far, names=(*site.survey.names, "far"), codes=(*site.survey.codes, ""))
    west, south, east, north = site.bed.outline.bounds
    reach = 1.5 * np.hypot(east - west, north - south)
    assert yard_bounds(replace(site, survey=survey))[2] <= east + reach + 1e-9
    assert yard_grid(replace(site, survey=survey)).cell < 2.5 * yard_grid(site).cell


def test_keep_off_that_touches_the_bed_is_covered_whole() -> None:
    site = garden_site()
    east = site.bed.outline.bounds[2]
    tree = Tree("old oak", at=(east + 28.0, 6.0), trunk=1.2, keep_off=30.0)
    disc = Point(tree.at).buffer(30.0).bounds
    assert covers(replace(site, tree=(tree,)), *disc)


@pytest.mark.parametrize("shift", [1e5, 1e6, -1e6])
def test_shifted_site_has_the_same_nodes(shift: float) -> None:
    site = garden_site()
    shots = site.survey.shots + np.array([shift, shift, 0.0])
    there = replace(
        site,
        survey=replace(site.survey, shots=shots),
        bed=replace(site.bed, outline=translate(site.bed.outline, shift, shift)),
        tree=(),
    )
    here, moved = yard_grid(replace(site, tree=())), yard_grid(there)
    assert (here.nx, here.ny, here.cell) == (moved.nx, moved.ny, moved.cell)
    assert moved.x0 - shift == pytest.approx(here.x0, abs=1e-9)


def test_given_cell_is_kept() -> None:
    assert yard_grid(with_cell(garden_site(), 0.1)).cell == 0.1


@pytest.mark.parametrize(
    ("cell", "problem"),
    [
        (0.002, r"makes [\d,]+ nodes over this yard, more than 4,000,000"),
        (1.0, r"leaves 6 nodes across the bed, fewer than 20"),
        (0.0, "0.0 is no size for a cell"),
    ],
)
def test_unfit_cell_is_refused_with_one_that_fits(cell: float, problem: str) -> None:
    site = with_cell(garden_site(), cell)
    with pytest.raises(InputError, match=problem) as refusal:
        yard_grid(site)
    assert "[grid] cell" in str(refusal.value)
    assert "Accepted: leave it out, or about" in str(refusal.value)


def test_a_cell_too_fine_is_told_what_it_takes_and_the_finest_is_accepted() -> None:
    for units, cell in (("m", 0.002), ("ft", 0.0005)):
        site = with_cell(replace(garden_site(), units=units), cell)
        with pytest.raises(InputError, match=r"takes about [\d.,]+ (minutes|hours|days) and [\d.,]+ GB") as refusal:
            yard_grid(site)
        finest = float(str(refusal.value).split("the finest is ")[1].split()[0]) * unit_length(units)
        grid = yard_grid(with_cell(site, finest))
        assert 3_000_000 < grid.nx * grid.ny < 4_040_000  # whole cells about the corner add a row


def test_a_fine_grid_is_told_beforehand_what_it_takes() -> None:
    site = garden_site()
    assert grid_words(site) == ""
    assert grid_words(with_cell(site, 0.1)) == ""
    many = yard_grid(with_cell(site, 0.01))
    said = grid_words(with_cell(site, 0.01))
    assert int(said.split(" nodes")[0][2:].replace(",", "")) == pytest.approx(many.nx * many.ny, rel=0.01)
    assert said.endswith("in all before drawing")
