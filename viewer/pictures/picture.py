"""The mound as one large picture, before or after, with its heights true or drawn larger; and the same in a window."""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from pathlib import Path

import numpy as np
from shapely.geometry import box

from terrain.extras import how_to_install, is_there
from terrain.flow import Study
from terrain.shape import Proposal
from terrain.units import Units, show_length
from viewer.page import INK, PAPER, Page, Pen, Type, new_page, subject_of, text_size, top_of_mound
from viewer.pictures.overview import SIZE, Overview
from viewer.pictures.planting import Season
from viewer.pictures.tint import mound_tint
from viewer.pictures.view import caption, lay_lines, write_caption, write_title
from viewer.still import face_colours

NAME = "view3d.png"
_KEY_STEPS = 5
WINDOW = "viewer.pictures.window_child"
_TOOLKIT = "pyvista"  # what that process shows the scene with


def draw_picture(
    study: Study,
    folder: Path,
    *,
    after: bool = True,
    scale: float = 1.0,
    tinted: bool = False,
    season: Season | None = None,
) -> Path:
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
    tinted
        Colour what is filled or dug by its depth, with a key.
    season
        Plants as in their first or fifth season; None: none.
    """
    return _lettered(Overview(subject_of(study), scale, tinted, season), after=after).save(folder / NAME, dpi=72.0)


def show_window(study: Study, *, after: bool = True, scale: float = 1.0) -> str:
    """Open a window and wait until it is closed; one line where there is none, else ""."""
    if not has_screen():
        return "No window: this session has no screen. The picture shows the same."
    if not is_there(_TOOLKIT):
        wanted = f"it needs the library {_TOOLKIT}, which is not installed. {how_to_install('window')}"
        return f"No window: {wanted}\nThe picture shows the same."
    with tempfile.TemporaryDirectory(prefix="hummock-view-") as workshop:
        scene = Path(workshop) / "scene.npz"
        save_scene(Overview(subject_of(study), scale), scene, after=after)
        failed = subprocess.run(window_words(WINDOW, scene), stdin=subprocess.DEVNULL, env=window_home(), check=False)
    return "No window: the 3D library could not open one here. The picture shows the same." if failed.returncode else ""


def window_words(module: str, scene: Path) -> list[str]:
    """The words that start the window's process; -P: a folder of the user's that is called "viewer" is not ours."""
    return [sys.executable, "-P", "-m", module, str(scene)]


def window_home() -> dict[str, str]:
    """The environment in which that process finds this program."""
    home = str(Path(__file__).resolve().parents[2])
    return {**os.environ, "PYTHONPATH": os.pathsep.join(filter(None, [home, os.environ.get("PYTHONPATH", "")]))}


def has_screen() -> bool:
    """Tell whether this session can show a window."""
    if not sys.platform.startswith("linux"):
        return True
    return bool(os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY"))


def save_scene(seen: Overview, path: Path, *, after: bool = True) -> None:
    """Write both states as named arrays: points, triangles, colours and opacity of each body, the camera and the sun.

    The state that is seen first is called "after".
    """
    camera = seen.camera
    named: dict[str, object] = {
        "sun": seen.sun,
        "eye": np.array(camera.eye),
        "target": np.array(camera.eye) + camera.forward,
        "angle": np.array(2.0 * np.degrees(np.arctan(camera.size[1] / 2.0 / camera.focal))),
    }
    for name, built in (("after", after), ("before", not after)):
        bodies, cover = seen.bodies(built), seen.models[built].cover
        named[name] = np.array(len(bodies))
        for k, body in enumerate(bodies):
            named |= {
                f"{name}_{k}_points": body.points,
                f"{name}_{k}_triangles": body.triangles,
                f"{name}_{k}_colours": face_colours(body, cover),
                f"{name}_{k}_opacity": np.array(body.opacity),
            }
    np.savez(path, **named)  # type: ignore[arg-type]


def _draw_key(page: Page, proposal: Proposal, units: Units) -> None:
    """The colours of the depths, in steps from none to the deepest fill and, where there is one, the deepest cut."""
    tint, kind = mound_tint(proposal), Type(20.0, INK)
    fill, cut = float(proposal.mesh.fill.max()), float(-proposal.mesh.fill.min())
    rows = [
        (word, sign, deepest) for word, sign, deepest in (("fill", 1.0, fill), ("dug", -1.0, cut)) if deepest > 0.01
    ]
    for k, (word, sign, deepest) in enumerate(rows):
        up = 100.0 + 34.0 * k
        end = f"{word}, to {show_length(deepest, units)}"
        left = SIZE[0] - 40.0 - text_size(end, kind)[0] - 30.0 * _KEY_STEPS
        page.area(box(left - 12.0, up - 9.0, SIZE[0] - 28.0, up + 25.0), PAPER, 0.85)
        colours = tint(sign * deepest * (np.arange(_KEY_STEPS) + 0.5) / _KEY_STEPS)
        for step, colour in enumerate(colours):
            swatch = box(left + 28.0 * step, up - 2.0, left + 28.0 * (step + 1), up + 18.0)
            page.area(swatch, "#" + "".join(f"{round(255.0 * part):02x}" for part in colour))
            page.lines(swatch, Pen(INK, 0.6))
        page.text(left + 28.0 * _KEY_STEPS + 10.0, up, end, kind)


def _lettered(seen: Overview, *, after: bool) -> Page:
    """The picture with its title, and what it is true to."""
    wide, high = SIZE
    still = seen.still(after)
    page = new_page(wide, high)
    page.picture(still.pixels, (0.0, 0.0, wide, high))
    lay_lines(page, seen, still, built=after)
    if seen.tinted and after:
        _draw_key(page, seen.subject.proposal, seen.subject.site.units)
    title = f"{seen.subject.site.name}: {'after' if after else 'before'}"
    write_title(page, title, wide - 68.0)
    height = show_length(top_of_mound(seen.subject.proposal)[2], seen.subject.site.units)
    write_caption(page, caption(seen) + (f" The mound is {height} high." if after else ""))
    return page
