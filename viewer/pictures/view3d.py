"""The eye-level picture: the yard before and after, at true height, from the street side.

The 3D library draws in a process of its own (see `viewer.pictures.view3d_child`); where that fails, the same scene is
painted by numbers, and one line says so.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from shapely.affinity import translate
from shapely.geometry import LineString, Polygon, box

from terrain.grid import Array
from terrain.units import show_length
from viewer.page import (
    INK,
    PAPER,
    SOFT_INK,
    Label,
    Page,
    Pen,
    Seat,
    Subject,
    Type,
    fit_size,
    new_page,
    place,
    text_size,
    top_of_mound,
    wrap,
    yard_bounds,
)
from viewer.pictures.scene import SIZE, Scene, build_scene

TIME_OUT = 60.0  # seconds that the drawing process may take
CHILD = "viewer.pictures.view3d_child"
INSET = 0.27  # share of the picture's width that the view before building takes
BEFORE_SIZE = (round(SIZE[0] * INSET) * 2, round(SIZE[1] * INSET) * 2)

Image = NDArray[np.uint8]


class DrawnView(NamedTuple):
    """The picture, and a remark on how it was made ("" where there is nothing to say)."""

    path: Path
    note: str


@dataclass(frozen=True)
class StartedView:
    """A view that a process is drawing."""

    subject: Subject
    scene: Scene
    process: subprocess.Popen[bytes]
    workshop: Path

    def collect(self, folder: Path, time_out: float = TIME_OUT) -> DrawnView:
        """Wait for the pictures, letter them and write view.png into `folder`."""
        after, before, trouble = self.pictures(time_out)
        path = lettered(self.subject, self.scene, after, before).save(folder / "view.png", dpi=72.0)
        return DrawnView(path, trouble)

    def pictures(self, time_out: float = TIME_OUT) -> tuple[Image, Image, str]:
        """After and before, from the process or painted here; and a remark where the process failed, else ""."""
        trouble = _trouble(self.process, self.workshop, time_out)
        if trouble:
            from viewer.pictures.painter import paint

            return paint(self.scene, True, SIZE), paint(self.scene, False, BEFORE_SIZE), trouble
        return _read(self.workshop / "after.png"), _read(self.workshop / "before.png"), ""


@contextmanager
def started_view(
    subject: Subject,
    *,
    scene: Scene | None = None,
    child: str = CHILD,
    folder: Path | None = None,
) -> Iterator[StartedView]:
    """Build the scene, where none is given, and start the drawing process; both are cleared away on the way out.

    What they work with lies in `folder`, the one of the results, where a later run clears away what a killed one left;
    without one it lies where the system keeps such things.
    """
    with tempfile.TemporaryDirectory(prefix=".hummock-view-", dir=folder) as workshop:
        scene = scene or build_scene(subject)
        process = _start(scene, Path(workshop), child)
        try:
            yield StartedView(subject, scene, process, Path(workshop))
        finally:
            if process.poll() is None:
                process.kill()
                process.wait()


def _start(scene: Scene, workshop: Path, child: str) -> subprocess.Popen[bytes]:
    """Hand the scene to a fresh process."""
    path = workshop / "scene.npz"
    np.savez(path, **_arrays(scene))  # type: ignore[arg-type]
    home = str(Path(__file__).resolve().parents[2])
    search = os.pathsep.join(filter(None, [home, os.environ.get("PYTHONPATH", "")]))
    with (workshop / "words").open("wb") as words:
        # -P: a folder of the user's that happens to be called "viewer" is not ours.
        return subprocess.Popen(
            [sys.executable, "-P", "-m", child, str(path), str(workshop)],
            stdin=subprocess.DEVNULL,
            stdout=words,
            stderr=words,
            env={**os.environ, "PYTHONPATH": search},
        )


def _arrays(scene: Scene) -> dict[str, object]:
    """The scene as named arrays."""
    named: dict[str, object] = {
        "size_after": np.array(SIZE),
        "size_before": np.array(BEFORE_SIZE),
        "places": scene.block.places(*scene.before.shape[::-1]),
        "window": np.array(scene.window),
        "before": scene.before,
        "after": scene.after,
        "skin_before": scene.skin_before,
        "skin_after": scene.skin_after,
        "eye": np.array(scene.camera.eye),
        "target": np.array(scene.camera.target),
        "angle": np.array(scene.camera.angle),
    }
    groups = {"walls_before": scene.walls_before, "walls_after": scene.walls_after, "solids": scene.solids}
    for group, bodies in groups.items():
        named[group] = np.array(len(bodies))
        for k, body in enumerate(bodies):
            named |= {
                f"{group}_{k}_corners": body.corners,
                f"{group}_{k}_colours": body.colours,
                f"{group}_{k}_opacity": np.array(body.opacity),
            }
    return named


def _trouble(process: subprocess.Popen[bytes], workshop: Path, time_out: float) -> str:
    """Wait for the process; one clear line where it brought no pictures, else ""."""
    try:
        status = process.wait(time_out)
    except subprocess.TimeoutExpired:
        process.kill()
        process.wait()
        return _said(f"took more than {time_out:g} s")
    if status < 0:
        return _said("has no working graphics library on this machine (libegl1 and libgl1-mesa-dri help)")
    if status != 0:
        lines = (workshop / "words").read_text(encoding="utf-8", errors="replace").strip().splitlines()
        return _said(f"could not draw: {lines[-1]}" if lines else f"ended with status {status}")
    missing = [name for name in ("after.png", "before.png") if not (workshop / name).is_file()]
    return _said("left no picture") if missing else ""


def _said(reason: str) -> str:
    """The remark on a view that was made the other way."""
    return f"view.png: the 3D library {reason}; the view was painted without it."


def _read(path: Path) -> Image:
    """A PNG as (rows, columns, 3) bytes."""
    from PIL import Image as Picture

    with Picture.open(path) as picture:
        return np.asarray(picture.convert("RGB"))


def lettered(subject: Subject, scene: Scene, after: Image, before: Image) -> Page:
    """The picture with its words and, in a corner, the yard as it is."""
    wide, high = SIZE
    page = new_page(wide, high)
    page.picture(after, (0.0, 0.0, wide, high))
    inset = _free_corner(after)
    frame = box(*inset)
    page.area(frame, PAPER)
    page.picture(before, inset)
    page.lines(frame, Pen(SOFT_INK, 1.5))
    page.text(inset[0] + 12.0, inset[3] - 30.0, "Before", Type(24.0, INK, bold=True))
    title = fit_size(subject.site.name, Type(40.0, INK, bold=True, title=True), (1.0 - INSET) * wide - 102.0, 24.0)
    page.text(34.0, high - 62.0, subject.site.name, title)
    small = Type(22.0, SOFT_INK)
    for k, line in enumerate(reversed(wrap(_caption(subject, scene), small, wide - 68.0))):
        page.text(34.0, 24.0 + 28.0 * k, line, small)
    head = box(34.0, high - 75.0, 34.0 + text_size(subject.site.name, title)[0], high - 30.0)
    _name_things(page, subject, scene, [frame, head])
    return page


def _free_corner(picture: Image) -> tuple[float, float, float, float]:
    """Left, bottom, right, top of the corner where the inset covers least: upper right if that is free."""
    wide, high = INSET * SIZE[0], INSET * SIZE[1]
    left, right = 28.0, SIZE[0] - 28.0 - wide
    corners = ((right, SIZE[1] - 28.0 - high), (right, 92.0), (left, 92.0))
    drawn = (picture != picture[0, 0]).any(axis=2)[::-1]
    covered = [
        float(drawn[int(up) : int(up + high), int(across) : int(across + wide)].mean()) for across, up in corners
    ]
    across, up = corners[0] if covered[0] < 0.005 else corners[int(np.argmin(covered))]
    return across, up, across + wide, up + high


def _caption(subject: Subject, scene: Scene) -> str:
    """What the picture is true to, and what it is not."""
    staff = "6 ft, one foot a band" if subject.site.units == "ft" else "2 m, a quarter metre a band"
    words = f"True height. Staff {staff}. Trees and buildings are plain shapes, their heights not measured."
    words += " Greener ground is higher."
    yard = box(*yard_bounds(subject.ground.grid)).buffer(0.05)
    block = translate(scene.block.outline, scene.corner[0], scene.corner[1])
    return words if yard.contains(block) else f"{words} Pale ground lies outside the yard."


def _name_things(page: Page, subject: Subject, scene: Scene, taken: Sequence[Polygon]) -> None:
    """Names on trees and buildings, and the height over the top with its leader."""
    names = [name for name in scene.places if name.partition(" ")[0] in ("top", "tree", "house")]
    spots, _ = scene.camera.project(np.array([scene.places[name] for name in names]), SIZE)
    labels = [_name(name, spot, subject) for name, spot in zip(names, spots, strict=True)]
    room = box(20.0, 60.0, SIZE[0] - 20.0, SIZE[1] - 20.0)
    for item in place(labels, room, taken):
        if item.label.tag == "top":
            across, down = spots[names.index("top")]
            page.lines(LineString([(item.seat.across, item.seat.up), (across, SIZE[1] - down)]), Pen(INK, 1.5))
        page.area(item.box.buffer(3.0), PAPER, 0.8)
        page.text(item.seat.across, item.seat.up, item.label.text, item.label.kind, "centre")


def _name(name: str, spot: Array, subject: Subject) -> Label:
    """The label of a thing at a place (2,) in pixels from the upper left corner; over the top, the mound's height."""
    what, _, text = name.partition(" ")
    top = what == "top"
    if top:
        text = f"{show_length(top_of_mound(subject.proposal)[2], subject.site.units)} high"
    lifts = (56.0, 84.0, 112.0) if top else (0.0, 30.0, 60.0)
    across, up = spot[0], SIZE[1] - spot[1]
    seats = tuple(Seat(across + shift, up + lift) for lift in lifts for shift in (0.0, -60.0, 60.0))
    return Label(text, seats, Type(26.0, INK, bold=top), 0 if top else 1, name)
