"""The view: true heights, all in the picture, soil as soil, and the same picture that a 3D library would make."""

from __future__ import annotations

import os
import subprocess
import sys
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from examples_drawn import drawn
from hypothesis import given, settings, strategies as st
from scenario import yard
from scipy import ndimage

from viewer.page.subject import Subject, top_of_mound
from viewer.pictures.overview import SIZE, Overview
from viewer.pictures.view import view_page
from viewer.still.camera import camera_over, looking_at
from viewer.still.stage import Stage
from viewer.still.still import draw_still

SUBJECT = Subject(*yard("ft"))


@cache
def seen() -> Overview:
    return Overview(SUBJECT)


def test_what_the_eye_looks_at_is_in_the_middle() -> None:
    camera = looking_at((0.0, -10.0, 5.0), (0.0, 0.0, 0.0), 30.0, (800, 600))
    spots, depth = camera.project(np.array([[0.0, 0.0, 0.0], [0.0, 0.0, 1.0], [1.0, 0.0, 0.0]]))
    assert spots[0] == pytest.approx([400.0, 300.0], abs=1e-9)
    assert depth[0] == pytest.approx(125.0**0.5, rel=1e-12)
    assert spots[1][1] < 300.0, "up is up"
    assert spots[2][0] > 400.0, "east is right of a northward view"


def test_the_edge_of_the_view_has_the_stated_angle() -> None:
    camera = looking_at((0.0, 0.0, 0.0), (0.0, 1.0, 0.0), 40.0, (800, 600))
    spot, _ = camera.project(np.array([[0.0, 1.0, np.tan(np.radians(20.0))]]))
    assert spot[0][1] == pytest.approx(0.0, abs=1e-9)


@settings(max_examples=drawn(25))
@given(st.floats(1, 60), st.floats(1, 60), st.floats(0, 8), st.floats(0, 6.3), st.floats(5, 60))
def test_the_camera_holds_everything_it_must(wide: float, deep: float, high: float, turn: float, down: float) -> None:
    corners = np.array([(x, y, z) for x in (0.0, wide) for y in (0.0, deep) for z in (0.0, high)])
    toward = np.array([np.cos(turn), np.sin(turn)])
    camera = camera_over(corners, toward, down, 22.0, SIZE, (0.95, 0.8))
    spots, depth = camera.project(corners)
    assert (depth > 0).all()
    off = np.abs(spots - np.array(SIZE) / 2).max(axis=0) / (np.array(SIZE) / 2)
    assert (off <= np.array([0.95, 0.8]) + 1e-9).all()
    assert (off > np.array([0.94, 0.79])).any(), "the picture is filled one way or the other"


def test_heights_in_the_picture_are_true() -> None:
    """The ground that is drawn is the mesh of the proposal; what names the top stands as high over the old ground."""
    mesh, corner = SUBJECT.proposal.mesh, seen().models[1].corner
    for built, heights in ((False, mesh.existing), (True, mesh.proposed)):
        drawn = seen().models[built].ground.points
        assert np.abs(drawn + np.array(corner) - np.column_stack([mesh.points, heights])).max() < 1e-9
    east, north, high = top_of_mound(SUBJECT.proposal)
    before = seen().models[0].level((east, north)) - corner[2]
    assert seen().places["top"][2] - before == pytest.approx(high, abs=1e-9)


def test_everything_named_is_in_the_picture() -> None:
    places = seen().places
    spots, depth = seen().camera.project(np.array(list(places.values())))
    assert (depth > 0).all()
    assert ((spots > 0) & (spots < np.array(SIZE))).all()
    assert {"top", "staff", "tree bur oak"} <= set(places)


def test_soil_is_drawn_as_soil_on_lawn_and_no_tint_tells_its_depth() -> None:
    small = seen().camera.resized(400)
    after, before = (seen().still(built, 400).pixels.astype(float) for built in (True, False))
    changed = np.abs(after - before).max(axis=2) > 24
    assert 0.05 < changed.mean() < 0.5
    red, green, blue = np.moveaxis(after, 2, 0)
    mulch = changed & (red > 1.1 * green) & (green > blue)
    assert mulch.sum() > 0.8 * changed.sum()
    # The top is no darker than the rest of the mound: a dark middle would read as a pit.
    ((across, down),) = small.project(seen().places["top"][None])[0]
    light = after.mean(axis=2)
    patch = light[int(down) - 3 : int(down) + 4, int(across) - 8 : int(across) + 9]
    assert patch.mean() > 0.9 * light[mulch].mean()


def test_every_word_of_the_view_stays_on_the_picture() -> None:
    page = view_page(seen())
    page.figure.set_dpi(72.0)
    page.figure.canvas.draw()
    assert len(page.axes.texts) >= 6
    for text in page.axes.texts:
        extent = text.get_window_extent()
        assert extent.x0 > 0
        assert extent.x1 < 1600, text.get_text()
        assert extent.y0 > 0
        assert extent.y1 < 900


SILHOUETTE = """
import sys, numpy as np
sys.path.insert(0, sys.argv[3])
from offscreen import choose_window
choose_window() or sys.exit(3)
import pyvista
data = np.load(sys.argv[1])
plotter = pyvista.Plotter(lighting="none", off_screen=True, window_size=[int(n) for n in data["size"]])
plotter.set_background("black")
for k in range(int(data["count"])):
    faces = np.column_stack([np.full(len(data[f"t{k}"]), 3), data[f"t{k}"]])
    plotter.add_mesh(pyvista.PolyData(data[f"p{k}"], faces.ravel()), color="white", lighting=False)
camera = plotter.camera
camera.position, camera.focal_point, camera.up = tuple(data["eye"]), tuple(data["target"]), (0.0, 0.0, 1.0)
camera.view_angle = float(data["angle"])
plotter.renderer.ResetCameraClippingRange()
np.save(sys.argv[2], plotter.screenshot(None, return_img=True)[..., 0] > 127)
"""


@pytest.mark.slow
@pytest.mark.parametrize("built", [False, True])
def test_silhouettes_are_those_of_a_3d_library_within_a_pixel(built: bool, tmp_path: Path) -> None:
    camera = seen().camera
    bodies = [body for body in seen().bodies(built) if body.opacity == 1.0]
    named: dict[str, np.ndarray] = {"eye": np.array(camera.eye), "target": np.array(camera.eye) + camera.forward}
    named |= {"size": np.array(SIZE), "count": np.array(len(bodies))}
    named["angle"] = np.array(2.0 * np.degrees(np.arctan(SIZE[1] / 2.0 / camera.focal)))
    for k, body in enumerate(bodies):
        named |= {f"p{k}": body.points, f"t{k}": body.triangles}
    np.savez(tmp_path / "scene.npz", **named)  # type: ignore[arg-type]
    words = [sys.executable, "-c", SILHOUETTE, str(tmp_path / "scene.npz"), str(tmp_path / "mask.npy")]
    run = subprocess.run(
        [*words, str(Path(__file__).parent)], capture_output=True, text=True, timeout=120, env=os.environ, check=False
    )
    if run.returncode in (3, -11):
        pytest.skip("no graphics library on this machine")
    assert run.returncode == 0, run.stderr
    theirs = np.load(tmp_path / "mask.npy")
    black = np.zeros((2, 3))
    stage = seen().stage(built)
    ours = np.isfinite(draw_still(Stage(tuple(bodies), stage.cover, stage.sun, black), camera).depth)
    assert 0.2 < theirs.mean() < 0.95
    about = np.ones((3, 3), dtype=bool)
    assert not (ours & ~ndimage.binary_dilation(theirs, about)).any()
    assert not (theirs & ~ndimage.binary_dilation(ours, about)).any()


@pytest.mark.slow
def test_equal_yards_make_equal_pictures_to_the_byte_in_any_process(tmp_path: Path) -> None:
    code = (
        "import sys, hashlib; sys.path[:0] = sys.argv[1:]\n"
        "from scenario import yard; from viewer.page.subject import Subject\n"
        "from viewer.pictures.overview import Overview\n"
        "print(hashlib.sha256(Overview(Subject(*yard('ft'))).still(True, 500).pixels.tobytes()).hexdigest())"
    )
    here = Path(__file__).parent
    words = [sys.executable, "-c", code, str(here), str(here.parents[1])]
    told = {
        subprocess.run(
            words, capture_output=True, text=True, timeout=120, check=True, env={**os.environ, "PYTHONHASHSEED": seed}
        ).stdout
        for seed in ("1", "2")
    }
    assert len(told) == 1


def test_a_moved_survey_makes_the_same_picture() -> None:
    from scenario import moved

    far = Overview(Subject(*moved(yard("ft"), (512_000.0, 4_480_000.0))))
    one, other = seen().still(True, 300).pixels.astype(int), far.still(True, 300).pixels.astype(int)
    # Coordinates of seven figures round the places by a nanometre or so: a grain or an edge may fall the other way.
    assert np.mean(np.abs(one - other).max(axis=2) > 2) < 0.01


def test_a_yard_of_nothing_but_a_bed_is_drawn() -> None:
    site, ground, proposal, work = yard("m")
    bare = replace(site, tree=(), building=(), keep_clear=())
    flat = replace(proposal, fill=np.zeros(proposal.grid.shape), elevation=ground.elevation)
    assert Overview(Subject(bare, ground, flat, work)).still(True, 200).pixels.shape == (112, 200, 3)
