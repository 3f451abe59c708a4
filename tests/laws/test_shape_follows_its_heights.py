"""More height never makes less mound, and a millimetre moves the surface by about one: on any yard, held or not."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from random_sites import random_yard
from test_features_on_random_yards import random_features

from terrain.errors import InputError
from terrain.ground.model import Ground
from terrain.shape.berm import proposed_vertices, shape_berm
from terrain.shape.prepared import prepare
from terrain.site.model import Site

Yard = Callable[[int], tuple[Site, Ground]]
FACTORS = (0.2, 0.5, 0.8, 1.0, 1.2, 1.5, 2.0, 4.0, 8.0)
# Of the volume at the largest factor, and of a metre. A corner that the spreading could not mend is lowered.
LESS_SOIL, LOWER = 0.001, 0.003
MOVED = 0.0025  # metres, for a height 0.001 m higher


def least_gain(site: Site, ground: Ground) -> tuple[float, float]:
    """Least growth of volume (share of the largest) and of the top (metres) from one factor to the next."""
    prepared = prepare(site, ground)
    area = prepared.layout.vertex_area
    volumes, tops = [], []
    for factor in FACTORS:
        fill = proposed_vertices(site, ground, prepared, factor) - prepared.vertices
        volumes.append(float(area @ fill[: len(area)]))
        tops.append(float(fill.max()))
    return float(np.diff(volumes).min()) / max(volumes[-1], 1e-9), float(np.diff(tops).min())


def check_growth(yard: Yard, seeds: range) -> int:
    checked = 0
    for seed in seeds:
        site, ground = yard(seed)
        try:
            soil, top = least_gain(site, ground)
        except InputError:  # no room for a mound, or a dig in a keep-off: said, not shaped
            continue
        checked += 1
        assert soil >= -LESS_SOIL, f"seed {seed}: {soil:.4f} of the soil"
        assert top >= -LOWER, f"seed {seed}: {top:.4f} m"
    return checked


def moved(site: Site, ground: Ground) -> float:
    """Largest change of the surface for crest heights one millimetre higher, metres."""
    crest = tuple(replace(point, height=point.height + 0.001) for point in site.berm.crest)
    higher = replace(site, berm=replace(site.berm, crest=crest))
    return float(np.abs(shape_berm(higher, ground).elevation - shape_berm(site, ground).elevation).max())


def check_moves(yard: Yard, seeds: range) -> int:
    checked = 0
    for seed in seeds:
        site, ground = yard(seed)
        try:
            steepest = shape_berm(site, ground).existing_steepest
            most = moved(site, ground)
        except InputError:
            continue
        if steepest > site.berm.max_slope:  # the ground breaks the limit by itself: what it can carry may jump
            continue
        checked += 1
        assert most <= MOVED, f"seed {seed}: {1000 * most:.2f} mm"
    return checked


def test_more_height_never_makes_less_mound() -> None:
    assert check_growth(random_yard, range(2)) == 2


def test_a_millimetre_moves_the_surface_by_about_one() -> None:
    assert check_moves(random_yard, range(4)) >= 3


@pytest.mark.slow
@pytest.mark.parametrize("yard", [random_yard, random_features])
def test_more_height_never_makes_less_mound_on_80_yards(yard: Yard) -> None:
    assert check_growth(yard, range(3, 83)) >= 40


@pytest.mark.slow
@pytest.mark.parametrize("yard", [random_yard, random_features])
def test_a_millimetre_moves_the_surface_by_about_one_on_100_yards(yard: Yard) -> None:
    assert check_moves(yard, range(4, 104)) >= 50
