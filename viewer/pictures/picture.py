"""The mound as one large picture, before or after, with its heights true or drawn larger; and the same in a window."""

from __future__ import annotations

import os
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np

from terrain.flow import Study
from terrain.units import show_length
from viewer.page import INK, SOFT_INK, Page, Subject, Type, fit_size, new_page, subject_of, top_of_mound
from viewer.pictures.camera import camera_over
from viewer.pictures.scene import FILL, FOOT, LOOK_DOWN, SIZE, VIEW_ANGLE, Scene, build_scene, view_direction
from viewer.pictures.solids import ShadedMesh
from viewer.pictures.view3d import DrawnView, Image, started_view

NAME = "view3d.png"
WINDOW = "viewer.pictures.window_child"


def draw_picture(study: Study, folder: Path, *, after: bool = True, scale: float = 1.0) -> DrawnView:
    """Write view3d.png (1600 by 900 pixels) into `folder`.

    Parameters
    ----------
    study
        The yard.
    folder
        Where the picture goes; it must exist.
    after
        True: the ground as built; False: as it is.
    scale
        How many times heights are drawn; 1.0 is true.
    """
    subject = subject_of(study)
    scene = seen(subject, after=after, scale=scale)
    with started_view(subject, scene=scene, folder=folder) as view:
        picture, _, trouble = view.pictures()
    page = _lettered(subject, scene, picture, after=after, scale=scale)
    return DrawnView(page.save(folder / NAME, dpi=72.0), trouble.replace("view.png", NAME))


def show_window(study: Study, *, after: bool = True, scale: float = 1.0) -> str:
    """Open a window and wait until it is closed; one line where there is none, else ""."""
    if not has_screen():
        return "No window: this session has no screen. The picture shows the same."
    subject = subject_of(study)
    with started_view(subject, scene=seen(subject, after=after, scale=scale), child=WINDOW) as view:
        failed = view.process.wait() != 0
    return "No window: the 3D library could not open one here. The picture shows the same." if failed else ""


def has_screen() -> bool:
    """Tell whether this session can show a window."""
    if not sys.platform.startswith("linux"):
        return True
    return bool(os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY"))


def seen(subject: Subject, *, after: bool, scale: float) -> Scene:
    """The scene with its heights drawn `scale` times; what is not `after` takes the ground as it is for the built one.

    What stands on the ground is drawn as much higher, so that nothing floats and nothing is told wrong beside it.
    """
    scene = _stretched(build_scene(subject), subject, scale)
    if after:
        return scene
    return replace(
        scene, after=scene.before, before=scene.after, skin_after=scene.skin_before, skin_before=scene.skin_after
    )


def _stretched(scene: Scene, subject: Subject, scale: float) -> Scene:
    if scale == 1.0:
        return scene
    tall = np.array([1.0, 1.0, scale])

    def drawn_out(bodies: tuple[ShadedMesh, ...]) -> tuple[ShadedMesh, ...]:
        return tuple(replace(body, corners=body.corners * tall) for body in bodies)

    places = {name: (x, y, scale * z) for name, (x, y, z) in scene.places.items()}
    corners = scene.block.places(2, 2).reshape(-1, 2)
    highest = scale * float(scene.after.max())
    ends = [np.column_stack([corners, np.full(4, z)]) for z in (scale * FOOT, highest)]
    must_show = np.vstack([*ends, np.array(list(places.values()))])
    return replace(
        scene,
        before=scale * scene.before,
        after=scale * scene.after,
        walls_before=drawn_out(scene.walls_before),
        walls_after=drawn_out(scene.walls_after),
        solids=drawn_out(scene.solids),
        camera=camera_over(must_show, view_direction(subject), LOOK_DOWN, VIEW_ANGLE, SIZE, FILL),
        places=places,
    )


def _lettered(subject: Subject, scene: Scene, picture: Image, *, after: bool, scale: float) -> Page:
    """The picture with its title, and what it is true to."""
    wide, high = SIZE
    page = new_page(wide, high)
    page.picture(picture, (0.0, 0.0, wide, high))
    state = "after" if after else "before"
    title = f"{subject.site.name}: {state}"
    page.text(34.0, high - 62.0, title, fit_size(title, Type(40.0, INK, bold=True, title=True), wide - 68.0, 24.0))
    heights = "True height." if scale == 1.0 else f"Heights are drawn {scale:g} times."
    height = show_length(top_of_mound(subject.proposal)[2], subject.site.units)
    built = f" The mound is {height} high." if after else ""
    words = f"{heights}{built} Trees and buildings are plain shapes, their heights not measured."
    page.text(34.0, 30.0, words, fit_size(words, Type(22.0, SOFT_INK), wide - 68.0, 14.0))
    return page
