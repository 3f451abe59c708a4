"""Stills against closed forms: silhouettes and depth to a pixel, shadows as long as they are, light as published."""

from __future__ import annotations

import numpy as np
import pytest
from shapely.geometry import Point, box

from terrain.grid import Grid
from viewer.still.camera import Camera, looking_at
from viewer.still.cover import cover_grid, cover_of, depth_inside, kinds_at
from viewer.still.light import SKY_LIGHT, SUN_HIGH, SUN_LIGHT, shadow_map, sky_view, sun_over, sunlit, tone
from viewer.still.raster import NEAREST, cut_near
from viewer.still.shading import shown_as
from viewer.still.shapes import block, lathe, sheet
from viewer.still.stage import Stage, StillBody, joined
from viewer.still.still import draw_still
from viewer.still.surfaces import LAWN, MULCH

STRAIGHT = float(np.sin(np.radians(SUN_HIGH)))
BLACK = np.zeros((2, 3))
# The garden camera of a published-form check: 4032 x 3024 pixels, f 3028.7, yaw 2.5, pitch -3.5, roll 0.8 degrees, one
# radial term of -0.040, standing at (0.40, -8.60, 1.62); pixels worked out independently and rounded to 0.1.
GARDEN = {
    (-3.00, -3.00, 0.05): (70.6, 2202.1),
    (2.60, -2.50, -0.02): (2951.2, 2103.1),
    (-1.20, 3.40, 0.22): (1482.8, 1688.5),
    (4.20, 0.80, 0.10): (3079.1, 1789.2),
    (-5.80, 9.00, 3.15): (792.2, 1077.1),
    (1.10, 1.50, 1.91): (2089.9, 1238.5),
}


def stage_of(*bodies: StillBody, sun: np.ndarray | None = None) -> Stage:
    grid = cover_grid((-30.0, -30.0, 30.0, 30.0))
    cover = cover_of([(LAWN, box(-30, -30, 30, 30))], grid, np.ones(grid.shape, dtype=np.float32))
    return Stage(bodies, cover, sun_over(np.array([0.0, 1.0]), -1.0, 0.0) if sun is None else sun, BLACK)


def ball(at: tuple[float, float, float], radius: float) -> StillBody:
    turn = np.linspace(-np.pi / 2, np.pi / 2, 181)
    return lathe(at[:2], radius * np.cos(turn), at[2] + radius * np.sin(turn), 360)


def test_places_fall_where_the_garden_camera_sees_them() -> None:
    yaw, pitch, roll = np.radians([2.5, -3.5, 0.8])
    forward = np.array([np.sin(yaw) * np.cos(pitch), np.cos(yaw) * np.cos(pitch), np.sin(pitch)])
    right = np.array([np.cos(yaw), -np.sin(yaw), 0.0])
    down = np.cross(forward, right)
    turned = np.cos(roll) * right + np.sin(roll) * down, -np.sin(roll) * right + np.cos(roll) * down
    camera = Camera((0.40, -8.60, 1.62), forward, turned[0], -turned[1], 3028.7, (2016.0, 1512.0), (4032, 3024))
    spots, _ = camera.project(np.array(list(GARDEN)))
    off = (spots - 2016.0 * np.array([1.0, 0.75])) / 3028.7
    bent = off * (1.0 - 0.040 * (off**2).sum(axis=1, keepdims=True)) * 3028.7 + 2016.0 * np.array([1.0, 0.75])
    assert bent == pytest.approx(np.array(list(GARDEN.values())), abs=0.06)


def test_a_ball_has_the_outline_and_the_depth_of_a_sphere() -> None:
    """A sphere of radius r at d seen straight on: a disc of f r / sqrt(d^2 - r^2) pixels, d - r away in its middle."""
    camera = looking_at((0.0, -8.0, 0.0), (0.0, 0.0, 0.0), 40.0, (401, 401))
    still = draw_still(stage_of(ball((0.0, 0.0, 0.0), 2.0)), camera)
    radius = camera.focal * 2.0 / np.sqrt(64.0 - 4.0)
    y, x = np.mgrid[0:401, 0:401] + 0.5
    away = np.hypot(x - 200.5, y - 200.5)
    seen = np.isfinite(still.depth)
    assert seen[away < radius - 1.0].all()
    assert not seen[away > radius + 1.0].any()
    assert still.depth[200, 200] == pytest.approx(6.0, abs=1e-3)
    # Off the middle: the look meets the sphere at t with |eye + t l| = r; depth is t over the look's length.
    row, column = 120, 260
    look = np.array([(column + 0.5 - 200.5) / camera.focal, 1.0, -(row + 0.5 - 200.5) / camera.focal])
    a, b, c = look @ look, -8.0 * look[1], 64.0 - 4.0
    assert still.depth[row, column] == pytest.approx((-b - np.sqrt(b * b - a * c)) / a, abs=0.01)


def test_a_cone_stands_between_its_edges() -> None:
    camera = looking_at((0.0, -30.0, 1.0), (0.0, 0.0, 1.0), 8.0, (400, 400))
    still = draw_still(stage_of(lathe((0.0, 0.0), np.array([1.0, 0.0]), np.array([0.0, 2.0]), 720)), camera)
    seen = np.isfinite(still.depth)
    # A point at height z on the rim of the outline lies (2 - z) / 2 off the axis, a hair less for the eye's nearness.
    for row in range(115, 290, 15):
        z = 1.0 + (200.0 - row - 0.5) * 30.0 / camera.focal
        expected = camera.focal * (2.0 - z) / 2.0 / 30.0
        assert 0.5 * seen[row].sum() == pytest.approx(expected, abs=1.0)


def test_neighbouring_triangles_leave_no_gap_and_the_nearer_hides_the_farther() -> None:
    rng = np.random.default_rng(4)
    x, y = np.meshgrid(np.arange(31.0), np.arange(31.0))
    points = np.column_stack([x.ravel(), y.ravel(), 0.2 * rng.random(961)]) - [15.0, 15.0, 0.0]
    points[:, :2] += 0.3 * (rng.random((961, 2)) - 0.5)
    at = np.arange(961).reshape(31, 31)[:-1, :-1].ravel()
    triangles = np.vstack([np.column_stack([at, at + 1, at + 32]), np.column_stack([at, at + 32, at + 31])])
    camera = looking_at((0.0, -3.0, 4.0), (0.0, 2.0, 0.0), 40.0, (300, 200))
    far = StillBody(points - np.array([0.0, 0.0, 3.0]), triangles)
    alone = draw_still(stage_of(StillBody(points, triangles)), camera)
    both = draw_still(stage_of(far, StillBody(points, triangles)), camera)
    assert np.isfinite(alone.depth).all()
    assert np.array_equal(alone.depth, both.depth)


def test_what_lies_behind_the_eye_is_cut_away() -> None:
    seen = np.array([(0.0, 0.0, -1.0), (1.0, 0.0, 3.0), (-1.0, 0.0, 3.0), (0.0, 1.0, -2.0)])
    points, triangles, faces = cut_near(seen, np.array([(0, 1, 2), (0, 1, 3), (0, 3, 3)]))
    assert sorted(faces.tolist()) == [0, 0, 1]
    assert (points[triangles, 2] >= NEAREST - 1e-12).all()
    # Ground under the feet of somebody who looks level fills the picture from the horizon down.
    ground = sheet(box(-30, -30, 30, 30), 0.0)
    still = draw_still(stage_of(ground), looking_at((0.0, 0.0, 1.6), (0.0, 1.0, 1.6), 60.0, (100, 100)))
    assert np.isfinite(still.depth[60:]).all()
    assert np.isinf(still.depth[:48]).all()


def test_a_post_throws_a_shadow_as_long_as_the_sun_is_low() -> None:
    """A post of 1 m under a sun 30 degrees up: 1.732 m on the flat, 1.21 m up a slope of 1:4, 3.05 m down one."""
    sun = np.array([-np.cos(np.radians(30.0)), 0.0, np.sin(np.radians(30.0))])
    post = block(box(-0.02, -0.2, 0.02, 0.2), -1.0, 1.0)
    casts = shadow_map(post.points, post.triangles, sun)
    shade = (casts.frame, casts.start, casts.cell, casts.height, casts.floor)
    for slope, length in ((0.0, 1.732), (0.25, 1.21), (-0.25, 3.05)):
        along = np.arange(0.05, 4.0, 0.005)
        lit = np.array([sunlit(x, 0.0, slope * x, 0.0, *shade) for x in along])
        ends = along[np.flatnonzero(lit > 0.5)[0]]
        assert ends == pytest.approx(length + 0.02, abs=0.03)
    assert sunlit(0.5, 1.0, 0.0, 0.0, *shade) == 1.0, "beside the shadow the sun shines"


@pytest.mark.parametrize(
    ("run", "lit", "far"), [(6.0, 1.21, 0.77), (4.0, 1.30, 0.65), (3.0, 1.38, 0.53)], ids=["1:6", "1:4", "1:3"]
)
def test_sides_of_a_mound_are_as_light_as_lighting_practice_has_them(run: float, lit: float, far: float) -> None:
    """Beside level ground, sun 30 degrees up: direct light 75 and sky 11 kilolux; a cast shadow is 0.23 of it."""
    assert (SUN_LIGHT, SKY_LIGHT) == (75.0, 11.0)
    tilt = np.arctan(1.0 / run)
    sky = 0.5 + 0.5 * np.cos(tilt)
    facing = np.sin(np.radians(SUN_HIGH) + tilt), np.sin(np.radians(SUN_HIGH) - tilt)
    assert tone(facing[0], 1.0, sky, 0.0, STRAIGHT) == pytest.approx(lit, abs=0.01)
    assert tone(facing[1], 1.0, sky, 0.0, STRAIGHT) == pytest.approx(far, abs=0.01)
    assert tone(STRAIGHT, 1.0, 1.0, 0.0, STRAIGHT) == pytest.approx(1.0, abs=1e-12)
    assert tone(STRAIGHT, 0.0, 1.0, 0.0, STRAIGHT) == pytest.approx(0.23, abs=0.005)


def test_a_slope_a_summit_and_a_bowl_see_as_much_sky_as_they_should() -> None:
    """Sky-view factor of 16 directions: an endless side of 1:4 0.923, of 1:3 0.899, of 1:2 0.855; a summit sees all."""
    x, y = np.meshgrid(np.arange(-60.0, 61.0), np.arange(-60.0, 61.0))
    for run, share in ((4.0, 0.923), (3.0, 0.899), (2.0, 0.855)):
        assert sky_view(x / run, 1.0, 40.0)[60, 60] == pytest.approx(share, abs=0.001)
    assert sky_view(-np.hypot(x, y) / 4.0, 1.0, 40.0)[60, 60] == pytest.approx(1.0, abs=1e-9)
    # The middle of a bowl whose sides stand 14.04 degrees over it from 10 m on: 0.757.
    away = np.hypot(x, y)
    assert sky_view(np.where(away < 10.0, 0.0, away / 4.0), 1.0, 40.0)[60, 60] == pytest.approx(0.757, abs=0.002)


def test_an_edge_on_the_ground_is_where_the_area_ends() -> None:
    grid = Grid(-2.0, -2.0, 0.05, 81, 81)
    inside = depth_inside(Point(0.0, 0.0).buffer(1.0, quad_segs=64), grid)[None]
    kinds = np.array([MULCH])
    for turn in np.linspace(0.0, 6.2, 17):
        spots = {reach: 40.0 + 20.0 * reach * np.array([np.cos(turn), np.sin(turn)]) for reach in (0.98, 1.02)}
        found = {reach: kinds_at(9.0, 9.0, 1e-3, *at, inside, kinds) for reach, at in spots.items()}
        assert found[0.98][1:] == (MULCH, 1.0)
        assert found[1.02][1] != MULCH
    tiny = depth_inside(Point(0.51, 0.51).buffer(0.02), grid)
    assert (tiny > -0.05).any(), "what no node lies in has an edge all the same"
    assert (depth_inside(Point(9.0, 9.0).buffer(0.02), grid) < -1.0).all()


def test_what_is_round_is_lit_as_round_and_what_breaks_has_sharp_edges() -> None:
    mesh = joined((block(box(0.0, 0.0, 1.0, 1.0), 0.0, 1.0), ball((3.0, 0.0, 0.0), 1.0)))
    walls = mesh.bodies[:, None] == 0
    of_wall = mesh.normals[mesh.triangles[walls[:, 0]]]
    assert (np.abs(of_wall).max(axis=2) > 1.0 - 1e-9).all(), "every corner of a wall faces as its wall does"
    round_one = np.unique(mesh.triangles[~walls[:, 0]])
    out = mesh.points[round_one] - np.array([3.0, 0.0, 0.0])
    assert np.abs(np.abs((mesh.normals[round_one] * out).sum(axis=1)) - 1.0).max() < 2e-3


def test_level_ground_in_the_sun_shows_the_colour_that_is_asked_for() -> None:
    """Middle tones to two steps of 255; what is brighter than the shoulder of the tones is pressed together."""
    wanted = np.array([[150.0, 110.0, 60.0], [90.0, 140.0, 135.0]])
    for colour in wanted:
        flat = sheet(box(-3, -3, 3, 3), 0.0)
        plain = StillBody(flat.points, flat.triangles, colours=shown_as(np.tile(colour, (len(flat.triangles), 1))))
        picture = draw_still(stage_of(plain), looking_at((0.0, -4.0, 4.0), (0.0, 0.0, 0.0), 20.0, (20, 20))).pixels
        assert picture[10, 10] == pytest.approx(colour, abs=2.0)


def test_a_clear_body_lets_what_lies_behind_it_through_by_its_opacity() -> None:
    wall = StillBody(
        np.array([(-3.0, 2.0, -3.0), (3.0, 2.0, -3.0), (3.0, 2.0, 3.0), (-3.0, 2.0, 3.0)]),
        np.array([(0, 1, 2), (0, 2, 3)]),
        colours=np.full((2, 3), 200.0),
    )
    nearer, dark = wall.points - np.array([0.0, 1.0, 0.0]), np.zeros((2, 3))
    pane = StillBody(nearer, wall.triangles, colours=dark, opacity=0.25, casts=False)
    camera = looking_at((0.0, -4.0, 0.0), (0.0, 0.0, 0.0), 20.0, (20, 20))
    bare, behind = draw_still(stage_of(wall), camera).pixels, draw_still(stage_of(wall, pane), camera).pixels
    assert behind.astype(float) == pytest.approx(0.75 * bare.astype(float), abs=1.5)
