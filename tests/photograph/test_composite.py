"""The mound in a photograph: it stands where the camera sees it, behind trunks and masks, and tells no secrets."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import shapely
from PIL import Image
from ready_command import Run
from shipped import study_of
from test_fit import CAMERA, EVERY, SIZE, marks_file

from terrain.flow import Study
from terrain.numerics import PhotoCamera
from terrain.photograph import PhotoFit, fit_photo, read_marks
from terrain.survey import Photograph, read_photograph
from viewer.page import subject_of
from viewer.pictures.composite import Composite, composite

KEPT = (806, 605)


@pytest.fixture(scope="module")
def study() -> Study:
    return study_of("alder-bend", 0.15)


def plain(grey: int = 120) -> Photograph:
    """A picture of one grey: whatever is seen in the result was laid there."""
    return Photograph(np.full((KEPT[1], KEPT[0], 3), grey, np.uint8), SIZE, 26.0, "")


def fit_of(study: Study, folder: Path) -> PhotoFit:
    path = marks_file(folder, study, EVERY)
    marks = read_marks(path, path.name, study.site, study.ground)
    return fit_photo(study.site, study.ground, study.proposal, marks, SIZE, 26.0, path.name)


def laid(study: Study, folder: Path, camera: PhotoCamera = CAMERA, **how: np.ndarray) -> Composite:
    fit = fit_of(study, folder)
    sure = replace(fit, resection=replace(fit.resection, camera=camera))
    return composite(subject_of(study), sure, plain(), how.get("mask"), None)


def seen_by(camera: PhotoCamera, study: Study) -> np.ndarray:
    """Which kept pixels have the mound in them: its triangles, one by one, through the camera (the plain way)."""
    mesh = study.proposal.mesh
    raised = mesh.triangles[mesh.inside]
    pixels, _ = camera.seen(np.column_stack([mesh.points, mesh.proposed]))
    shapes = shapely.polygons(pixels[raised] * (KEPT[0] / SIZE[0]))
    area = shapely.union_all(shapely.buffer(shapes, 0.01))
    v, u = np.mgrid[0 : KEPT[1], 0 : KEPT[0]] + 0.5
    return np.asarray(shapely.contains_xy(area, u, v))


@pytest.mark.parametrize("bulge", [pytest.param(0.0, marks=pytest.mark.slow), -0.04])
def test_the_mound_stands_where_the_camera_sees_its_triangles(study: Study, tmp_path: Path, bulge: float) -> None:
    camera = replace(CAMERA, bulge=bulge)
    shown, expected = laid(study, tmp_path, camera).shown > 0.5, seen_by(camera, study)
    assert np.count_nonzero(expected) > 5000
    assert np.count_nonzero(shown != expected) < 0.04 * np.count_nonzero(expected)  # a pixel along its edge


@pytest.mark.slow
def test_where_the_mask_is_white_the_photograph_stays(study: Study, tmp_path: Path) -> None:
    mask = np.zeros((KEPT[1], KEPT[0]))
    mask[:, : KEPT[0] // 2] = 1.0
    result = laid(study, tmp_path, mask=mask)
    assert (result.pixels[:, : KEPT[0] // 2 - 4] == 120).all()
    assert (result.shown[:, KEPT[0] // 2 + 4 :] > 0.5).any()


@pytest.mark.slow
def test_a_trunk_before_the_mound_stays_before_it(study: Study, tmp_path: Path) -> None:
    """Seen from behind the oak: what lies between the camera and the mound is the photograph's own."""
    oak = study.site.tree[0]
    up = float(study.ground.grid.sample(study.ground.elevation, np.array([oak.at]))[0])
    behind = PhotoCamera(
        np.array([oak.at[0] - 1.5, oak.at[1] + 4.0, up + 1.6]), (2.75, -0.2, 0.0), 3028.7, CAMERA.middle
    )
    shown = laid(study, tmp_path, behind).shown
    foot, depth = behind.seen(np.array([[*oak.at, up + 0.8]]))
    assert depth[0] > 0.0
    u, v = (foot[0] * KEPT[0] / SIZE[0]).astype(int)
    assert shown[v, u] < 0.1
    assert seen_by(behind, study).any()
    assert (shown > 0.5).any()


def photograph_file(path: Path) -> Path:
    """A grey picture with what a phone's file tells: the lens, the hour, and a place on earth."""
    told = Image.Exif()
    told[0x8769] = {0xA405: 26, 0x9003: "2026:06:21 15:04:00"}
    told[0x8825] = {1: "N", 2: (44.0, 57.0, 0.0)}
    Image.new("RGB", SIZE, (120, 120, 120)).save(path, exif=told, quality=60)
    return path


@pytest.mark.slow
def test_the_command_draws_the_mound_and_keeps_no_place(
    hummock: Callable[..., Run], coarse: Path, study: Study, tmp_path: Path
) -> None:
    picture, marks = photograph_file(tmp_path / "yard.jpg"), marks_file(tmp_path, study, EVERY)
    site, out = coarse / "examples" / "alder-bend" / "site.toml", tmp_path / "out"
    ran = hummock("photo", site, "--picture", picture, "--marks", marks, "--out", out, "--json")
    assert ran.returncode in (0, 1), ran.stderr
    told = json.loads(ran.stdout)["photo"]
    assert told["camera"]["at"] == pytest.approx(CAMERA.at.tolist(), abs=0.05)
    assert told["camera"]["focal_px"] == pytest.approx(CAMERA.focal, rel=5e-3)
    assert told["residual_px"] < 1.0
    assert 0.0 < told["error_at_mound_m"] < 0.05
    assert json.loads((out / "photo.json").read_text(encoding="utf-8"))["photo"] == told
    for name in ("photo.png", "photo_before_after.png"):
        with Image.open(out / name) as made:
            assert not made.getexif()
            assert made.size[0] > 1000
        assert b"2026:06:21" not in (out / name).read_bytes()


def test_a_picture_is_read_upright_with_what_its_file_tells(tmp_path: Path) -> None:
    told = Image.Exif()
    told[0x0112] = 6  # turned a quarter to the right
    told[0x8769] = {0xA405: 28}
    drawn = Image.new("RGB", (400, 200), (10, 10, 10))
    drawn.paste((250, 250, 250), (0, 0, 200, 200))
    drawn.save(tmp_path / "a.jpg", exif=told, quality=95)
    found = read_photograph(tmp_path / "a.jpg", "a.jpg")
    assert found.size == (200, 400)
    assert found.film == 28.0
    assert found.pixels[100, 100].mean() > 200
    assert found.pixels[300, 100].mean() < 60
