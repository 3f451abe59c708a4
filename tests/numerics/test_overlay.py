"""Overlay of areas that touch or cross themselves: it never fails, and no ground is lost or counted twice."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import example, given, strategies as st
from shapely import affinity
from shapely.geometry import LineString, MultiPolygon, Polygon, box

from terrain.numerics.overlay import merged, overlap, sound, without

FRAME = box(2.0, 2.0, 9.0, 7.0)


@st.composite
def rings(draw: st.DrawFn) -> Polygon:
    """Rings over the places of a small lattice: they touch and cross themselves as often as not."""
    places = draw(st.lists(st.tuples(st.integers(0, 12), st.integers(0, 9)), min_size=4, max_size=14))
    return Polygon(places)


def on_paper(shape: shapely.Geometry, scale: float) -> shapely.Geometry:
    """As a sheet lays it: scaled and shifted, each coordinate rounded anew."""
    return affinity.affine_transform(shape, [scale, 0.0, 0.0, scale, 1.0 / 3.0, 171.7])


@given(rings(), rings(), st.floats(0.1, 300.0))
def test_two_parts_make_the_whole_however_the_rings_touch(one: Polygon, other: Polygon, scale: float) -> None:
    one, other = on_paper(one, scale), on_paper(other, scale)
    whole = sound(one).area
    assert overlap(one, other).area + without(one, other).area == pytest.approx(whole, rel=1e-9, abs=1e-9 * scale**2)
    assert merged([one, other]).area == pytest.approx(
        sound(other).area + without(one, other).area, rel=1e-9, abs=1e-9 * scale**2
    )


@given(rings())
@example(Polygon([(0, 0), (1, 0), (1, 1), (2, 0), (1, 0), (1, 1), (0, 0)]))
def test_a_ring_made_sound_is_sound_and_holds_areas_only(ring: Polygon) -> None:
    area = sound(ring)
    assert area.is_valid
    assert isinstance(area, Polygon | MultiPolygon)


def test_facets_round_a_hole_that_touches_the_edge_keep_the_area_that_they_cover() -> None:
    # A ring of four boxes round an empty square whose corner lies on the outer edge of nothing else: 8 of 9 squares,
    # traced as one ring that runs along itself from the outside to the hole and back.
    keyhole = Polygon([(0, 0), (3, 0), (3, 3), (0, 3), (0, 0), (1, 1), (1, 2), (2, 2), (2, 1), (1, 1)])
    assert not keyhole.is_valid
    assert sound(keyhole).area == pytest.approx(8.0, abs=1e-12)
    assert overlap(keyhole, box(0, 0, 3, 1.5)).area == pytest.approx(4.5 - 0.5, abs=1e-12)


def test_lines_are_cut_by_areas_and_left_as_they_are_by_nothing() -> None:
    line = LineString([(0.0, 5.0), (12.0, 5.0)])
    assert overlap(line, FRAME).length == pytest.approx(7.0, abs=1e-12)
    assert without(line, FRAME).length == pytest.approx(5.0, abs=1e-12)
    assert sound(line) is line
    assert merged([]).is_empty
    assert overlap(Polygon(), FRAME).is_empty


def test_many_facets_of_one_surface_are_one_ground_without_seams() -> None:
    rng = np.random.default_rng(3)
    from scipy.spatial import Delaunay

    points = rng.uniform(0.0, 10.0, (300, 2))
    facets = shapely.polygons(points[Delaunay(points).simplices])
    ground = merged(facets)
    assert ground.area == pytest.approx(shapely.area(facets).sum(), rel=1e-9)
    assert ground.area == pytest.approx(shapely.convex_hull(shapely.multipoints(points)).area, rel=1e-9)


def test_areas_merged_with_what_has_no_area_can_be_cut_with() -> None:
    """A label of no width beside one that has some: their union is a mixture, which the library cannot cut with."""
    flat = shapely.Polygon([(9.0, 9.0), (12.0, 9.0), (9.0, 9.0)])
    ground = merged([shapely.box(0.0, 0.0, 2.0, 2.0), flat, shapely.LineString([(5.0, 5.0), (6.0, 6.0)])])
    assert ground.area == 4.0
    assert set(shapely.get_dimensions(shapely.get_parts(ground)).tolist()) == {2}
    assert shapely.difference(shapely.LineString(), ground).is_empty
