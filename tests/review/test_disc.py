"""Laws of the exact sums over discs: closed formulas, and a fine raster as the independent method."""

import math
from itertools import pairwise

import numpy as np
import pytest
import review_yards as yards
from examples_drawn import drawn
from hypothesis import example, given, settings, strategies as st
from shapely.geometry import Point, Polygon, box
from shipped import study_of

from terrain.numerics import disc
from terrain.numerics.disc import (
    DepthFacets,
    deeper_than,
    disc_content,
    facets_around,
    nearest_facet,
    polygon_area_in_disc,
)


def square(half: float, depth) -> DepthFacets:
    """Two triangles over (-half..half)^2 with the depth of a function of place."""
    p = np.array([(-half, -half), (half, -half), (half, half), (-half, half)], dtype=float)
    tri = np.array([(0, 1, 2), (0, 2, 3)])
    d = np.array([depth(*q) for q in p], dtype=float)
    return DepthFacets(p[tri], d[tri])


def lens(r1: float, r2: float, apart: float) -> float:
    """Area shared by two circles, the closed formula."""
    a = (apart**2 + r1**2 - r2**2) / (2 * apart)
    b = apart - a
    return (
        r1**2 * math.acos(a / r1)
        - a * math.sqrt(r1**2 - a**2)
        + r2**2 * math.acos(b / r2)
        - b * math.sqrt(r2**2 - b**2)
    )


def test_disc_inside_a_plate_holds_its_full_area_and_the_depth_at_its_centre():
    plate = square(10.0, lambda x, y: 2.0 + 0.1 * x - 0.05 * y)
    found = disc_content(plate, (1.5, -2.0), 3.0)
    assert found.area == pytest.approx(math.pi * 9.0, rel=1e-12)
    assert found.volume == pytest.approx(math.pi * 9.0 * (2.0 + 0.15 + 0.1), rel=1e-12)


@pytest.mark.parametrize("turn", [0.0, 0.7, 2.5])
def test_half_a_disc_under_a_wedge_holds_two_thirds_of_its_radius_cubed(turn):
    # Depth = distance from the diameter: the integral over half a disc is 2 R^3 / 3, geometry.
    turned = np.array([[math.cos(turn), math.sin(turn)], [-math.sin(turn), math.cos(turn)]])
    half = DepthFacets(np.array([[(0.0, -10.0), (20.0, 0.0), (0.0, 10.0)]]) @ turned, np.array([[0.0, 20.0, 0.0]]))
    found = disc_content(half, (0.0, 0.0), 1.5)
    assert found.area == pytest.approx(math.pi * 1.5**2 / 2, rel=1e-12)
    assert found.volume == pytest.approx(2 * 1.5**3 / 3, rel=1e-12)


def test_plate_inside_a_disc_holds_the_plate():
    found = disc_content(square(1.0, lambda x, y: 0.5), (0.0, 0.0), 5.0)
    assert found.area == pytest.approx(4.0, abs=1e-12)
    assert found.volume == pytest.approx(2.0, abs=1e-12)


@pytest.mark.parametrize(("share", "apart"), [(5, 0.80538), (10, 0.68705), (20, 0.49186), (25, 0.40397), (30, 0.31969)])
def test_straight_edge_cuts_the_share_of_a_zone_that_the_closed_formula_says(share, apart):
    # A = R^2 acos(d/R) - d sqrt(R^2 - d^2), geometry; table to five figures.
    half_plane = box(apart, -5.0, 5.0, 5.0)
    assert 100 * polygon_area_in_disc(half_plane, (0.0, 0.0), 1.0) / math.pi == pytest.approx(share, abs=2e-3)


@pytest.mark.parametrize(
    ("apart", "area", "share"),
    [(6, 6.482, 3.980), (5, 15.732, 9.660), (4, 26.948, 16.547), (3.6, 31.839, 19.550)],
)
def test_edge_of_a_bed_over_a_zone_of_7_2_m(apart, area, share):
    half_plane = Polygon([(apart, -50), (50, -50), (50, 50), (apart, 50)])
    found = polygon_area_in_disc(half_plane, (0.0, 0.0), 7.2)
    assert found == pytest.approx(area, abs=6e-4)
    assert 100 * found / (math.pi * 7.2**2) == pytest.approx(share, abs=6e-4)


@pytest.mark.parametrize(
    ("r1", "r2", "apart", "area"),
    [(7.2, 4, 10, 3.8850), (7.2, 4, 9, 9.4438), (3.6, 3, 5, 4.6926), (1, 1, 1, 1.22837)],
)
def test_round_mound_over_a_zone_shares_the_lens(r1, r2, apart, area):
    mound = Point(apart, 0).buffer(r2, quad_segs=2000)
    assert lens(r1, r2, apart) == pytest.approx(area, abs=6e-5)
    assert polygon_area_in_disc(mound, (0.0, 0.0), r1) == pytest.approx(area, abs=1e-4)


@pytest.mark.parametrize(("keep", "lost"), [(0.9487, 10.0), (0.9, 19.0), (0.8, 36.0)])
def test_ring_kept_clear_loses_one_less_its_square(keep, lost):
    ring = Point(0, 0).buffer(3, quad_segs=2000).difference(Point(0, 0).buffer(keep, quad_segs=2000))
    found = polygon_area_in_disc(ring, (0.0, 0.0), 1.0)
    assert 100 * found / math.pi == pytest.approx(lost, abs=0.02)


@settings(max_examples=drawn(40), deadline=None)
@example([(1.0, 0.0), (0.0, 2.0), (5e-189, 2e-97)], [0.0, 0.0, 0.0], 1.0, (0.0, 0.0))
@given(
    corners=st.lists(st.tuples(st.floats(-3, 3), st.floats(-3, 3)), min_size=3, max_size=3),
    depth=st.lists(st.floats(0, 2), min_size=3, max_size=3),
    radius=st.floats(0.3, 3.0),
    shift=st.tuples(st.floats(-1, 1), st.floats(-1, 1)),
)
def test_sums_agree_with_a_fine_raster(corners, depth, radius, shift):
    facets = DepthFacets(np.array([corners], dtype=float), np.array([depth], dtype=float))
    if Polygon(corners).area < 1e-3:
        return
    steps = 240
    edge = (np.arange(steps) + 0.5) / steps * 6.0 - 3.0
    points = np.stack(np.meshgrid(edge, edge), axis=-1).reshape(1, -1, 2)
    weights = disc._barycentric(facets.corners, points)[0]
    inside = (weights.min(axis=1) >= 0) & (np.hypot(*(points[0] - shift).T) <= radius)
    cell = (6.0 / steps) ** 2
    found = disc_content(facets, shift, radius)
    assert found.area == pytest.approx(inside.sum() * cell, abs=0.06)
    volume = (weights @ facets.depth[0])[inside].sum() * cell
    assert found.volume == pytest.approx(volume, abs=0.12)
    if inside.sum() > 200:
        top, at = facets_around(facets, shift, 9.0).deepest(radius)
        assert top >= (weights @ facets.depth[0])[inside].max() - 1e-9
        assert at is None or math.dist(at, shift) <= radius + 1e-6


@settings(max_examples=drawn(40), deadline=None)
@given(st.floats(-0.5, 0.9), st.floats(0.2, 1.2))
def test_sum_is_additive_over_a_split_into_levels(level, radius):
    plate = square(1.0, lambda x, y: 0.3 * x + 0.2 * y)
    deep = deeper_than(plate, level)
    shallow = deeper_than(DepthFacets(plate.corners, -plate.depth), -level)
    both = disc_content(deep, (0.1, 0.2), radius).area + disc_content(shallow, (0.1, 0.2), radius).area
    # A triangle that comes over the circle by less than 1e-5 m only touches it: each may leave out so thin a segment.
    segment = 4.0 / 3.0 * math.sqrt(2.0 * radius) * 1e-5**1.5
    assert both == pytest.approx(disc_content(plate, (0.1, 0.2), radius).area, abs=1e-9 + 4.0 * segment)


def test_what_is_seen_from_a_place_once_gives_every_circle_what_it_gives_alone():
    """Sums and deepest places of one look from the trunk, beside each circle and each facet taken by itself."""
    chance = np.random.default_rng(7)
    middles = chance.uniform(-8, 8, (400, 1, 2)) + np.array([500.0, 800.0])
    corners = middles + chance.uniform(-1, 1, (400, 3, 2))
    facets = DepthFacets(corners, chance.uniform(0, 1, (400, 3)))
    centre = (500.3, 800.2)
    around = facets_around(facets, centre, 6.0)
    radii = (0.05, 0.4, 1.0, 2.5, 4.0, 5.9, 6.0)
    level = around.contents(radii, 0.4)
    levels = (-math.inf, 0.0, 0.1, 0.4, 0.7, 2.0)
    together = around.contents_deeper(radii, levels)
    for k, one in enumerate(levels):
        assert together[k] == pytest.approx(around.contents(radii, one), rel=1e-9, abs=1e-12)
    assert around.deepest_in_rings(radii).tolist() == [around.deepest(b, a)[0] for a, b in pairwise(radii)]
    for k, radius in enumerate(radii):
        alone = [disc_content(DepthFacets(facets.corners[[f]], facets.depth[[f]]), centre, radius) for f in range(400)]
        assert around.content(radius).area == pytest.approx(math.fsum(one.area for one in alone), rel=1e-9, abs=1e-12)
        assert around.content(radius).volume == pytest.approx(
            math.fsum(one.volume for one in alone), rel=1e-9, abs=1e-12
        )
        deep = disc_content(deeper_than(facets, 0.4), centre, radius)
        assert level[:, k] == pytest.approx([deep.area, deep.volume], rel=1e-9, abs=1e-12)
        assert around.deepest(radius, radius / 2) == facets_around(facets, centre, radius).deepest(radius, radius / 2)


def test_facet_that_only_touches_the_circle_adds_exactly_nothing():
    far = 1e6
    touching = DepthFacets(np.array([[(far + 1.0, -2.0), (far + 3.0, 0.0), (far + 1.0, 2.0)]]), np.ones((1, 3)))
    assert disc_content(touching, (far, 0.0), 1.0) == disc.DiscContent(0.0, 0.0)
    assert facets_around(touching, (far, 0.0), 9.0).deepest(1.0) == (0.0, None)
    assert polygon_area_in_disc(box(1.0, -2.0, 3.0, 2.0), (0.0, 0.0), 1.0) == 0.0


def test_sliver_between_chord_and_arc_is_found():
    # Corners on the circle itself, as a polygon drawn through points of the circle would leave them.
    half = math.pi / 32
    chord = [(math.cos(a), math.sin(a)) for a in (-half, half)]
    facet = DepthFacets(np.array([[chord[0], (3.0, 0.0), chord[1]]]), np.array([[0.0, 1.0, 0.0]]))
    found = disc_content(facet, (0.0, 0.0), 1.0)
    assert found.area == pytest.approx(half - math.sin(2 * half) / 2, rel=1e-9)
    assert found.volume > 0.0


def test_deepest_place_on_a_slope_is_where_the_gradient_meets_the_circle():
    plate = square(10.0, lambda x, y: 5.0 + 0.3 * x + 0.4 * y)
    depth, at = facets_around(plate, (0.0, 0.0), 9.0).deepest(2.0)
    assert depth == pytest.approx(6.0, abs=1e-9)
    assert at == pytest.approx((1.2, 1.6), abs=1e-6)
    falling = square(10.0, lambda x, y: 5.0 - 0.1 * math.hypot(x, y))
    assert facets_around(falling, (0.0, 0.0), 9.0).deepest(4.0, inner=2.0)[0] < 5.0


def test_deepest_between_two_circles_leaves_the_inner_disc_out():
    cone = square(8.0, lambda x, y: 0.0)
    apex = np.array([(0.0, 0.0)])
    ring = square_ring(8.0)
    tri = np.array([[apex[0], a, b] for a, b in zip(ring, ring[1:] + ring[:1], strict=True)])
    facets = DepthFacets(tri, np.tile([1.0, 0.0, 0.0], (4, 1)))
    depth, at = facets_around(facets, (0.0, 0.0), 9.0).deepest(4.0, inner=2.0)
    # Along a corner's direction the pyramid falls 1 over 8 sqrt(2).
    assert depth == pytest.approx(1.0 - 2.0 / math.hypot(8, 8), abs=1e-9)
    assert math.hypot(*at) == pytest.approx(2.0, abs=1e-6)
    assert facets_around(cone, (0.0, 0.0), 9.0).deepest(4.0) == (0.0, None)


def square_ring(half: float) -> list[tuple[float, float]]:
    return [(-half, -half), (half, -half), (half, half), (-half, half)]


def test_depth_at_a_place_is_that_of_the_facet_over_it():
    plate = square(2.0, lambda x, y: 1.0 + 0.25 * x - 0.1 * y)
    places = np.array([(0.0, 0.0), (1.5, -0.5), (2.0, 2.0), (2.1, 0.0)])
    assert disc.depth_at(plate, places) == pytest.approx([1.0, 1.425, 1.3, 0.0], abs=1e-12)
    assert disc.depth_at(DepthFacets(np.zeros((0, 3, 2)), np.zeros((0, 3))), places) == pytest.approx([0, 0, 0, 0])


def test_rounding_of_elevations_is_no_fill_and_no_cut():
    mesh = yards.plates((square_plate := box(0, 0, 4, 4), 1e-12), (square_plate, -1e-12), existing=1000.0)
    assert len(disc.fill_facets(mesh)) == len(disc.cut_facets(mesh)) == 0


def test_nearest_is_the_nearest_point_of_the_facets():
    facets = DepthFacets(np.array([[(2.0, -1.0), (2.0, 1.0), (4.0, 0.0)]]), np.ones((1, 3)))
    away, place = nearest_facet(facets, (0.0, 0.5))
    assert away == pytest.approx(2.0, abs=1e-12)
    assert place == pytest.approx((2.0, 0.5), abs=1e-12)
    assert nearest_facet(facets, (3.0, 0.0)) == (0.0, (3.0, 0.0))
    point = DepthFacets(np.array([[(3.0, 4.0)] * 3]), np.ones((1, 3)))
    line = DepthFacets(np.array([[(3.0, 4.0), (6.0, 8.0), (4.5, 6.0)]]), np.ones((1, 3)))
    for bare in (point, line):
        away, place = nearest_facet(bare, (0.0, 0.0))
        assert away == pytest.approx(5.0, abs=1e-12)
        assert place == pytest.approx((3.0, 4.0), abs=1e-12)
    assert nearest_facet(DepthFacets(np.zeros((0, 3, 2)), np.zeros((0, 3))), (0.0, 0.0)) == (math.inf, None)


def test_the_slopes_that_a_mesh_keeps_are_those_of_its_surfaces():
    mesh = study_of("alder-bend", 0.3).proposal.mesh
    for kept, elevation in ((mesh.existing_slopes, mesh.existing), (mesh.proposed_slopes, mesh.proposed)):
        # The plain way: the plane through the three corners of each triangle.
        corners = np.concatenate([mesh.points, elevation[:, None]], axis=1)[mesh.triangles]
        normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
        assert kept == pytest.approx(np.hypot(normal[:, 0], normal[:, 1]) / np.abs(normal[:, 2]), rel=1e-9, abs=1e-9)
