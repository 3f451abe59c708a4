"""The 3D picture of a page beside the still of the same yard: the same sun, surfaces and shadows, in a real browser."""

from __future__ import annotations

import io
from collections.abc import Iterator
from typing import Any

import numpy as np
import pytest
from live_yards import DESK, browsing, copied_yard, ready
from PIL import Image
from shapely import affinity
from shapely.geometry import Point

from terrain.flow import Study, run_site
from terrain.site.read import read_site
from viewer.page.subject import Subject, tree_circles
from viewer.pictures.laid import boulders, level_sheets
from viewer.pictures.overview import Overview
from viewer.still.surfaces import GRAVEL
from viewer.web.share import write_share

pytestmark = pytest.mark.slow
PATCH = 0.3  # metres: half the side of the ground that is compared
NEAR_ENOUGH = 14.0  # of 255, between the mean colours of two patches: a fifth of what lawn is off mulch


@pytest.fixture(scope="module")
def study(tmp_path_factory: pytest.TempPathFactory) -> Study:
    return run_site(read_site(copied_yard(tmp_path_factory.mktemp("yard"))))


@pytest.fixture(scope="module")
def page(study: Study, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Any]:
    with browsing(DESK) as opened:
        opened.goto(write_share(study, tmp_path_factory.mktemp("page") / "berm.html").as_uri())
        ready(opened)
        opened.evaluate("async () => { const { tags } = (await hummock).stage; tags.hidden = true; }")
        yield opened


@pytest.fixture(scope="module")
def seen(study: Study) -> Overview:
    return Overview(Subject(study.site, study.ground, study.proposal, study.work))


def places_of(study: Study, seen: Overview) -> dict[str, list[float]]:
    """Middles of patches of lawn in the sun, of mulch on either side of the mound, and of the trunk's shadow."""
    site = study.site
    (oak,) = tree_circles(site)
    flat = -seen.sun[:2] / np.hypot(*seen.sun[:2])
    shade = np.array(oak.tree.at) + (oak.flare + 1.6) * flat
    near = min(site.bed.outline.exterior.coords, key=lambda corner: float(np.dot(corner, seen.toward)))
    lawn = np.array(near) - 0.8 * seen.toward
    middle = np.array(site.bed.outline.centroid.coords[0])
    inner = affinity.scale(site.bed.outline.minimum_rotated_rectangle, 0.45, 0.35).exterior.coords[:4]
    mulch = [np.array(spot) for spot in inner if study.proposal.worked.buffer(-0.6).contains(Point(spot))]
    assert mulch
    found = {"lawn": lawn, "shade": shade, "middle": middle, **{f"mulch {k}": spot for k, spot in enumerate(mulch)}}
    assert all(seen.block.rounded.contains(Point(spot)) for spot in found.values())
    return {name: [float(v) for v in spot] for name, spot in found.items()}


def mean_in(pixels: np.ndarray, corners: np.ndarray) -> np.ndarray:
    """Median colour of the pixels in the box of some spots; lines over the ground are few of them."""
    (left, top), (right, foot) = np.floor(corners.min(axis=0)).astype(int), np.ceil(corners.max(axis=0)).astype(int)
    return np.median(pixels[top : foot + 1, left : right + 1].reshape(-1, 3), axis=0)


def corners_about(spot: list[float]) -> np.ndarray:
    return np.array(spot) + PATCH * np.array([(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)])


def in_still(study: Study, seen: Overview, pixels: np.ndarray, spot: list[float]) -> np.ndarray:
    corners = corners_about(spot)
    level = study.proposal.grid.sample(study.proposal.elevation, corners)
    spots, _ = seen.camera.project(seen.drawn(np.column_stack([corners, level])))
    return mean_in(pixels, spots)


def on_page(page: Any, pixels: np.ndarray, spot: list[float]) -> np.ndarray:
    spots = page.evaluate(
        """async (corners) => {
          const { stage, yard } = await hummock;
          return corners.map(([x, y]) => [x - yard.origin[0], y - yard.origin[1]]).map(([x, y]) => {
            const { clientWidth, clientHeight } = stage.canvas;
            const at = stage.eye.project([x, y, stage.heightAt(x, y)], clientWidth, clientHeight);
            return [at.x, at.y];
          });
        }""",
        corners_about(spot).tolist(),
    )
    return mean_in(pixels, np.array(spots))


def shown(page: Any) -> np.ndarray:
    page.evaluate("async () => { await (await hummock).stage.painted(); }")
    png = page.locator(".stage").screenshot()
    return np.asarray(Image.open(io.BytesIO(png)).convert("RGB"), dtype=float)


def test_the_page_has_the_light_and_the_surfaces_of_the_still(page: Any, study: Study, seen: Overview) -> None:
    still = seen.still(True).pixels.astype(float)
    picture = shown(page)
    told = {
        name: (in_still(study, seen, still, spot), on_page(page, picture, spot))
        for name, spot in places_of(study, seen).items()
    }
    for name, (in_the_still, on_the_page) in told.items():
        assert np.abs(in_the_still - on_the_page).max() < NEAR_ENOUGH, (name, told)
    # What is compared differs by more than it may be off.
    assert np.abs(told["lawn"][1] - told["middle"][1]).max() > 4.0 * NEAR_ENOUGH
    assert told["shade"][1].mean() < 0.65 * told["lawn"][1].mean()


def test_the_sun_keeps_its_place_on_the_screen(page: Any, study: Study, seen: Overview) -> None:
    """Turned round, the picture is lit from the same side: the trunk's shadow falls to the same side of it."""
    (oak,) = tree_circles(study.site)
    at, away = np.array(oak.tree.at), oak.flare + 1.2
    page.evaluate("async () => { const { eye } = (await hummock).stage; eye.distance *= 1.7; }")
    for _ in range(4):
        page.evaluate("async () => { (await hummock).stage.eye.turn(90, 0); }")
        sun, right, forward = page.evaluate(
            """async () => {
              const { stage } = await hummock; const { right, forward } = stage.eye.axes();
              return [stage.sun(), right, forward];
            }"""
        )
        assert np.dot(sun, right) == pytest.approx(np.dot(seen.sun[:2], [seen.toward[1], -seen.toward[0]]), abs=1e-3)
        assert np.dot(sun[:2], forward[:2]) > 0.1, "light from behind what is seen, which is upward in the picture"
        flat = -np.array(sun[:2]) / np.hypot(*sun[:2])
        picture = shown(page)
        shade, lit = (on_page(page, picture, (at + side * away * flat).tolist()) for side in (1.0, -1.0))
        assert shade.mean() < 0.75 * lit.mean(), (shade, lit)
    page.evaluate("async () => { (await hummock).stage.look('street'); }")


def test_depth_is_a_choice_and_off_at_first(page: Any, study: Study, seen: Overview) -> None:
    middle = places_of(study, seen)["middle"]
    assert page.is_checked("#ground input[value=soil]")
    as_it_looks = on_page(page, shown(page), middle)
    page.check("#ground input[value=depth]", force=True)
    by_depth = on_page(page, shown(page), middle)
    assert np.abs(by_depth - as_it_looks).max() > 40.0
    assert page.locator("#key .fill-3").count() == 1, "the tints have their key"
    page.check("#ground input[value=soil]", force=True)
    assert np.abs(on_page(page, shown(page), middle) - as_it_looks).max() < 2.0


def test_stones_and_a_filled_basin_lie_on_the_page_as_in_the_still(tmp_path: Any) -> None:
    study = run_site(read_site(copied_yard(tmp_path, "tansy-hollow")))
    subject = Subject(study.site, study.ground, study.proposal, study.work)
    seen = Overview(subject)
    pixels = seen.still(True).pixels.astype(float)
    (basin,) = [dig.rim for dig in study.proposal.digs if dig.name == study.site.stream[0].basin]
    stones = np.array([body.points.mean(axis=0) for body in boulders(subject)])
    assert len(stones) > 50
    with browsing(DESK) as page:
        page.goto(write_share(study, tmp_path / "berm.html").as_uri())
        ready(page)
        page.evaluate("async () => { const { tags } = (await hummock).stage; tags.hidden = true; }")
        picture = shown(page)
        middle = [basin.centroid.x, basin.centroid.y]
        level = float(next(body.points[0, 2] for body in level_sheets(subject) if body.kind == GRAVEL))
        gravel = at_height(page, picture, np.column_stack([corners_about(middle), np.full(4, level)]))
        spots, _ = seen.camera.project(seen.drawn(np.column_stack([corners_about(middle), np.full(4, level)])))
        assert np.abs(gravel - mean_in(pixels, spots)).max() < NEAR_ENOUGH
        # Stones are grey where mulch, which lies there without them, is brown.
        grey = [at_height(page, picture, stone[None]) for stone in stones[::3]]
        assert np.median([colour[0] - colour[2] for colour in grey]) < 40.0
        page.check("#state input[value='0']", force=True)
        page.wait_for_function("async () => { const s = (await hummock).stage; return s.shown === s.after; }")
        bare = shown(page)
        lawn = [at_height(page, bare, stone[None]) for stone in stones[::3]]
        assert np.median([colour[1] - colour[2] for colour in lawn]) > 40.0, "before building there are none"


def at_height(page: Any, pixels: np.ndarray, points: np.ndarray) -> np.ndarray:
    """Median colour about survey places (n, 3) that the page sees."""
    spots = page.evaluate(
        """async (points) => {
          const { stage, yard } = await hummock;
          const { clientWidth, clientHeight } = stage.canvas;
          return points.map((point) => point.map((value, k) => value - yard.origin[k])).map(([x, y, z]) => {
            const at = stage.eye.project([x, y, stage.lift * (z - stage.base)], clientWidth, clientHeight);
            return [at.x, at.y];
          });
        }""",
        points.tolist(),
    )
    return mean_in(pixels, np.array(spots))
