"""The view: true heights, all in the picture, and a picture in the end whatever becomes of the 3D library."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings, strategies as st
from scenario import yard

from viewer.page.subject import Subject, top_of_mound
from viewer.pictures.camera import Camera, camera_over
from viewer.pictures.painter import paint
from viewer.pictures.scene import SIZE, Scene, build_scene
from viewer.pictures.view3d import lettered, started_view

SUBJECT = Subject(*yard("ft"))


@cache
def scene() -> Scene:
    return build_scene(SUBJECT)


def pixels(path: Path) -> np.ndarray:
    from PIL import Image

    with Image.open(path) as picture:
        return np.asarray(picture.convert("RGB")).astype(float)


def test_what_the_eye_looks_at_is_in_the_middle() -> None:
    camera = Camera((0.0, -10.0, 5.0), (0.0, 0.0, 0.0), 30.0)
    spots, depth = camera.project(np.array([[0.0, 0.0, 0.0], [0.0, 0.0, 1.0], [1.0, 0.0, 0.0]]), (800, 600))
    assert spots[0] == pytest.approx([400.0, 300.0], abs=1e-9)
    assert depth[0] == pytest.approx(125.0**0.5, rel=1e-12)
    assert spots[1][1] < 300.0, "up is up"
    assert spots[2][0] > 400.0, "east is right of a northward view"


def test_the_edge_of_the_view_has_the_stated_angle() -> None:
    camera = Camera((0.0, 0.0, 0.0), (0.0, 1.0, 0.0), 40.0)
    spot, _ = camera.project(np.array([[0.0, 1.0, np.tan(np.radians(20.0))]]), (800, 600))
    assert spot[0][1] == pytest.approx(0.0, abs=1e-9)


@settings(max_examples=25)
@given(st.floats(1, 60), st.floats(1, 60), st.floats(0, 8), st.floats(0, 6.3), st.floats(5, 60))
def test_the_camera_holds_everything_it_must(wide: float, deep: float, high: float, turn: float, down: float) -> None:
    corners = np.array([(x, y, z) for x in (0.0, wide) for y in (0.0, deep) for z in (0.0, high)])
    toward = np.array([np.cos(turn), np.sin(turn)])
    camera = camera_over(corners, toward, down, 22.0, SIZE, (0.95, 0.8))
    spots, depth = camera.project(corners, SIZE)
    assert (depth > 0).all()
    off = np.abs(spots - np.array(SIZE) / 2).max(axis=0) / (np.array(SIZE) / 2)
    assert (off <= np.array([0.95, 0.8]) + 1e-9).all()
    assert (off > np.array([0.94, 0.79])).any(), "the picture is filled one way or the other"


def test_heights_in_the_scene_are_true() -> None:
    found = scene()
    rows, columns = found.after.shape
    places = found.block.places(columns, rows) + np.array(found.corner[:2])
    grid = SUBJECT.ground.grid
    truth = grid.sample(SUBJECT.proposal.elevation, places.reshape(-1, 2)).reshape(rows, columns)
    assert found.after + found.corner[2] == pytest.approx(truth, abs=1e-9)
    assert (found.after - found.before).max() == pytest.approx(top_of_mound(SUBJECT.proposal)[2], abs=0.01)


def test_everything_named_is_in_the_picture() -> None:
    spots, depth = scene().camera.project(np.array(list(scene().places.values())), SIZE)
    assert (depth > 0).all()
    assert ((spots > 0) & (spots < np.array(SIZE))).all()
    assert {"top", "staff", "tree bur oak"} <= set(scene().places)


def test_the_painted_view_shows_the_mound() -> None:
    small = (400, 225)
    after, before = paint(scene(), True, small), paint(scene(), False, small)
    changed = np.abs(after.astype(float) - before).max(axis=2) > 12
    assert 0.05 < changed.mean() < 0.5
    # No hole: within the ground's own outline no pixel keeps the colour of the paper.
    (across, down), *_ = scene().camera.project(np.array([scene().places["top"]]), small)[0]
    patch = after[int(down) + 2 : int(down) + 22, int(across) - 20 : int(across) + 20]
    assert not (patch == np.array([251, 248, 241])).all(axis=2).any()


@pytest.mark.parametrize(
    ("child", "said"),
    [
        pytest.param("crashing_child", "has no working graphics library on this machine", marks=pytest.mark.slow),
        ("failing_child", "could not draw: no room on the device"),
        pytest.param("silent_child", "left no picture", marks=pytest.mark.slow),
        pytest.param("sleeping_child", "took more than 1 s", marks=pytest.mark.slow),
    ],
)
def test_when_the_drawing_process_fails_the_view_is_painted_and_one_line_says_so(
    child: str, said: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("PYTHONPATH", str(Path(__file__).parent))
    with started_view(SUBJECT, child=child) as view:
        workshop = view.workshop
        drawn = view.collect(tmp_path, time_out=1.0 if child == "sleeping_child" else 60.0)
    assert drawn.note.startswith("view.png: the 3D library ")
    assert said in drawn.note
    assert drawn.note.endswith("the view was painted without it.")
    assert "\n" not in drawn.note
    assert pixels(drawn.path).shape == (900, 1600, 3)
    assert not workshop.exists()


def test_an_unfinished_view_leaves_no_process_and_no_files(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PYTHONPATH", str(Path(__file__).parent))
    with pytest.raises(RuntimeError, match="stopped"), started_view(SUBJECT, child="sleeping_child") as view:
        raise RuntimeError("stopped")
    assert view.process.poll() is not None
    assert not view.workshop.exists()


def test_every_word_of_the_view_stays_on_the_picture() -> None:
    blank = np.full((900, 1600, 3), 251, dtype=np.uint8)
    page = lettered(SUBJECT, scene(), blank, blank)
    page.figure.set_dpi(72.0)
    page.figure.canvas.draw()
    assert len(page.axes.texts) >= 6
    for text in page.axes.texts:
        extent = text.get_window_extent()
        assert extent.x0 > 0
        assert extent.x1 < 1600, text.get_text()
        assert extent.y0 > 0
        assert extent.y1 < 900


@pytest.mark.slow
def test_the_3d_library_and_the_painter_draw_the_same_picture(tmp_path: Path) -> None:
    with started_view(SUBJECT) as view:
        drawn = view.collect(tmp_path)
        if drawn.note:
            assert "graphics library" in drawn.note or "EGL" in drawn.note
            pytest.skip(drawn.note)
        theirs = pixels(view.workshop / "after.png")
    ours = paint(scene(), True, SIZE).astype(float)
    # Edges are smoothed by one and not by the other; level tints agree to a step or two of 255.
    assert np.abs(theirs - ours).mean() < 3.0
    assert np.median(np.abs(theirs - ours)) < 2.0
