"""What went wrong is told by its simplest cause: one yard built wrong in every way that is known, with shots' noise."""

from __future__ import annotations

import sys
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from terrain.field.asbuilt.as_built import check_as_built
from terrain.field.asbuilt.model import AsBuilt, BuiltShots
from terrain.field.setout.set_out import grades
from terrain.flow import Study, run_site
from terrain.ground.existing import points_over
from terrain.site.model import Soil
from terrain.units import show_length

sys.path.append(str(Path(__file__).parents[1] / "laws"))
from random_sites import ground_on, site_with
from shapely.affinity import scale
from shapely.geometry import Point

from terrain.grid import Grid

FOOT = 0.3048
NOISE = 0.02 * FOOT
BED = scale(Point(12.0, 8.0).buffer(1.0, 32), 6.0, 4.0)
BESIDE = np.array([(4.0, 8.0), (20.0, 8.0), (12.0, 2.5), (12.0, 13.5)])


@cache
def study() -> Study:
    """A mound of two tops on a bed of 12 m by 8 m, on ground that falls a little."""
    grid = Grid(2.0, 1.0, 0.25, 81, 57)
    east, north = np.meshgrid(grid.x, grid.y)
    site = site_with(BED, [(9.5, 8.0, 0.45), (14.0, 8.5, 0.6)], 0.25, toe=0.6)
    site = replace(site, soil=Soil(settlement=0.08))
    return run_site(site, ground=ground_on(grid, 100.0 + 0.01 * east + 0.02 * north))


@cache
def places() -> np.ndarray:
    rim = BED.buffer(-0.1).exterior
    edge = [rim.interpolate(share, normalized=True) for share in np.linspace(0, 1, 19)[:-1]]
    return np.vstack([points_over(BED, 60), [(spot.x, spot.y) for spot in edge], BESIDE])


def checked(heights: np.ndarray, seed: int, at: np.ndarray | None = None) -> AsBuilt:
    shot_at = places() if at is None else at
    seen = heights + np.random.default_rng(seed).normal(0.0, NOISE, len(heights))
    names = tuple(f"B{k}" for k in range(len(seen)))
    built = BuiltShots(np.column_stack([shot_at, seen]), names, ("",) * len(seen), "built.csv")
    return check_as_built(study(), built)


@cache
def planned() -> tuple[np.ndarray, np.ndarray]:
    existing, _, day_one = grades(study(), places())
    return existing, day_one


def test_a_slipped_benchmark_is_told_and_nothing_else() -> None:
    check = checked(planned()[1] - 0.15, 1)
    assert check.cause.kind == "benchmark"
    assert check.cause.level == pytest.approx(-0.15, abs=0.01)
    assert [f.level for f in check.findings].count("caution") == 1
    assert not check.stopped


@pytest.mark.parametrize(
    ("east", "north"),
    [(-0.35, 0.5), *(pytest.param(*off, marks=pytest.mark.slow) for off in ((0.6, 0.0), (0.0, -0.8)))],
)
def test_a_mound_that_stands_aside_is_told_by_how_much(east: float, north: float) -> None:
    """The mound moved on the ground that is there, the shots beside it untouched."""
    existing, _ = planned()
    moved = grades(study(), places() - [east, north])
    check = checked(existing + moved[2] - moved[0], 2)
    assert check.cause.kind == "shifted"
    assert (check.cause.east, check.cause.north) == (pytest.approx(east, abs=0.08), pytest.approx(north, abs=0.08))
    assert check.cause.explains > 0.8
    assert [f.level for f in check.findings].count("caution") == 1
    assert not check.stopped


def test_shots_taken_aside_are_told_as_well() -> None:
    shot_at = places() + np.array([0.5, -0.3])
    check = checked(planned()[1], 3, shot_at)
    assert check.cause.kind == "shifted"
    assert (check.cause.east, check.cause.north) == (pytest.approx(0.5, abs=0.1), pytest.approx(-0.3, abs=0.1))


@pytest.mark.parametrize("share", [0.2, -0.25, pytest.param(0.35, marks=pytest.mark.slow)])
def test_fill_that_is_too_low_by_a_share_is_told_by_its_share(share: float) -> None:
    existing, day_one = planned()
    check = checked(existing + (1.0 - share) * (day_one - existing), 4)
    assert check.cause.kind == "share"
    assert (check.cause.share, check.cause.layer) == (pytest.approx(share, abs=0.03), 0.0)
    filled = float(study().proposal.fill.sum()) * study().proposal.grid.cell ** 2
    volume = abs(share) * study().work.day_one_factor * filled
    assert max(check.missing.missing, check.missing.surplus) == pytest.approx(volume, rel=0.08)
    assert [f.level for f in check.findings].count("caution") == 1


def layer_missing(layer: float, under: float) -> None:
    """An even layer is left out, down to so much under the old ground where the fill is thinner; told as that."""
    existing, day_one = planned()
    fill = day_one - existing
    check = checked(day_one - np.where(fill > 0.0, np.minimum(layer, fill + under), 0.0), 7)
    assert check.cause.kind == "share"
    assert check.cause.layer == pytest.approx(layer, abs=0.01)
    assert check.cause.share * layer > 0.0
    assert [f.level for f in check.findings].count("caution") == 1
    told = check.findings[0].text
    assert told.startswith(f"An even layer of {show_length(abs(check.cause.layer), 'm')} ")
    assert ("A lift was forgotten: top it up everywhere alike." in told) == (layer > 0.0)


def test_a_lift_left_out_everywhere_is_told_by_its_thickness() -> None:
    layer_missing(0.12, 0.0)


@pytest.mark.slow
def test_and_on_stripped_ground_and_where_there_is_one_too_many() -> None:
    layer_missing(0.08, 0.05)
    layer_missing(0.2, 1.0)
    layer_missing(-0.1, 0.0)


def test_one_hollow_is_told_with_its_place() -> None:
    away = np.hypot(*(places() - [14.5, 9.0]).T)
    check = checked(planned()[1] - 0.25 * np.maximum(1.0 - (away / 1.8) ** 2, 0.0) ** 2, 5)
    assert check.cause.kind == "local"
    assert check.cause.at is not None
    assert np.hypot(*(np.array(check.cause.at) - [14.5, 9.0])) < 1.0
    assert [f.level for f in check.findings].count("caution") == 1


def test_a_corner_forgotten_is_told_with_its_place() -> None:
    existing, day_one = planned()
    check = checked(np.where(places()[:, 0] > 15.5, existing, day_one), 6)
    assert check.cause.kind == "local"
    assert check.cause.at is not None
    assert check.cause.at[0] > 14.5


def test_no_one_cause_is_said_where_none_explains() -> None:
    off = np.random.default_rng(8).choice([-0.2, 0.2], len(places())) * (places()[:, 0] > 6.0)
    off[-len(BESIDE) :] = 0.0
    check = checked(planned()[1] + off, 8)
    assert (check.cause.kind, check.cause.explains) == ("local", 0.0)
    assert any("stand more than" in f.text for f in check.findings)


def raised(count: int) -> list[int]:
    """The seeds of clean surveys that raise a caution or a stop."""
    loud = []
    for seed in range(count):
        check = checked(planned()[1], 1000 + seed)
        if check.cause.kind != "as planned" or any(f.level != "note" for f in check.findings):
            loud.append(seed)
    return loud


def test_clean_surveys_raise_nothing() -> None:
    assert raised(3) == []


@pytest.mark.parametrize(
    ("surveys", "most"), [pytest.param(30, 1, marks=pytest.mark.slow), pytest.param(100, 2, marks=pytest.mark.fuzz)]
)
def test_at_most_two_in_a_hundred_clean_surveys_raise_anything(surveys: int, most: int) -> None:
    assert len(raised(surveys)) <= most


def test_ground_that_no_shot_covers_gives_no_figure() -> None:
    """Five shots on a corner of the mound, far too high: nothing is said of the rest, and the share comes first."""
    spots = np.array([(9.0, 8.0), (9.4, 8.0), (9.0, 8.4), (9.4, 8.4), (9.2, 8.2)])
    day_one = grades(study(), spots)[2]
    check = checked(day_one + 0.4, 9, spots)
    assert check.covered < 0.05
    assert check.missing.surplus < 0.06 * study().proposal.worked.area * 0.4
    assert f"{100 * check.covered:.0f} % of the mound" in check.findings[0].text
    assert np.isfinite(check.difference).sum() < 0.06 * study().proposal.bed.sum()
    assert not any(f.topic == "slopes" and f.level == "stop" for f in check.findings)
