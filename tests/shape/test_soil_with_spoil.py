"""Shaping to the soil on hand counts what the site gives itself: the order then asks for just that soil."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from random_sites import ground_on, site_with
from shapely.geometry import Polygon

from terrain.grid import Grid
from terrain.shape.berm import shape_berm
from terrain.site.features import Basin, Channel, RetainedEdge
from terrain.site.model import Site, Soil
from terrain.soil.measure import measure_earthwork
from terrain.soil.order import order_soil

BASIN = Basin("bowl", 0.4, center=(15.5, 3.0), size=(1.6, 1.2), clearance=0.1, side_slope=1.0)
CHANNEL = Channel("rill", ((15.5, 3.0), (17.0, 1.5), (19.0, 1.0)), 0.3, 0.2)
EDGE = RetainedEdge("stones", ((6.0, 4.8), (10.0, 4.8)), 0.25)
SOIL = Soil(swell=0.25, shrink=0.10, settlement=0.08)


def yard(wanted: float, **features: object) -> tuple[Site, object]:
    angle = np.linspace(0, 2 * np.pi, 60, endpoint=False)
    bed = Polygon(np.column_stack([9 + 6 * np.cos(angle), 7 + 3.5 * np.sin(angle)]))
    site = site_with(bed, [(7.5, 7.0, 0.4), (11.0, 7.5, 0.5)], 0.25)
    grid = Grid(0.0, 0.0, 0.1, 201, 121)
    site = replace(site, soil=SOIL, berm=replace(site.berm, soil=wanted), **features)
    return site, ground_on(grid, 20.0 + 0.01 * np.broadcast_to(grid.x, grid.shape).copy())


@pytest.mark.parametrize(
    ("features", "soil", "bed"),
    [
        ({}, SOIL, {}),
        ({"basin": (BASIN,)}, SOIL, {}),
        ({"basin": (BASIN,), "channel": (CHANNEL,)}, SOIL, {}),
        ({"basin": (BASIN,)}, replace(SOIL, ground="clay", reuse=0.5), {}),
        ({"basin": (BASIN,)}, replace(SOIL, ground="sand"), {"topsoil": 0.06}),
        ({"basin": (BASIN,)}, SOIL, {"sod_leaves": False}),
        ({"basin": (BASIN,)}, SOIL, {"planting": 0.4}),
        ({"retained_edge": (EDGE,)}, replace(SOIL, ground="clay", reuse=0.5), {}),
        ({"basin": (BASIN,), "retained_edge": (EDGE,)}, SOIL, {"sod_leaves": False}),
    ],
    ids=[
        "no dig",
        "basin",
        "basin and channel",
        "half of a clay dig is fit",
        "topsoil kept",
        "sod stays",
        "planting",
        "wall",
        "wall and basin",
    ],
)
def test_the_order_of_a_berm_shaped_to_soil_on_hand_is_that_soil(
    features: dict[str, object], soil: Soil, bed: dict[str, object]
) -> None:
    site, ground = yard(15.0, **features)
    site = replace(site, soil=soil, bed=replace(site.bed, **bed))
    proposal = shape_berm(site, ground)
    work = measure_earthwork(site, ground, proposal)
    order = order_soil(site, work)
    assert order.expected == pytest.approx(15.0, rel=0.005)
    assert order.on_hand == 15.0
    assert abs(proposal.soil_left) <= 0.005 * 15.0


def test_spoil_makes_the_mound_higher_for_the_same_soil_bought() -> None:
    plain, dug = (shape_berm(*yard(15.0, **features)) for features in ({}, {"basin": (BASIN,)}))
    assert dug.height_scale > plain.height_scale + 0.02
