"""The process that draws a scene with the 3D library: `python -m viewer.pictures.view3d_child SCENE.npz FOLDER`.

It runs apart from the command because, on a machine with no graphics library, the first render call ends the
process. It writes before.png and after.png; whoever started it judges it by its exit status and those files.
"""

from __future__ import annotations

import ctypes
import os
import sys
from pathlib import Path
from typing import Any

import numpy as np

NO_GRAPHICS = 3


def choose_window() -> bool:
    """Name the off-screen window that this machine can open, before the library picks one that asks for a display.

    Answers False where a Linux machine has neither library, nor a display.
    """
    if not sys.platform.startswith("linux") or "VTK_DEFAULT_OPENGL_WINDOW" in os.environ:
        return True
    for library, window in (
        ("libEGL.so.1", "vtkEGLRenderWindow"),
        ("libOSMesa.so.8", "vtkOSOpenGLRenderWindow"),
        ("libOSMesa.so.6", "vtkOSOpenGLRenderWindow"),
    ):
        try:
            ctypes.CDLL(library)
        except OSError:
            continue
        os.environ["VTK_DEFAULT_OPENGL_WINDOW"] = window
        return True
    return bool(os.environ.get("DISPLAY"))


def leave_no_core() -> None:
    """A crash of the graphics library must not leave a memory image on the user's disk."""
    try:
        import resource
    except ImportError:  # not a Unix machine
        return
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))


def render(data: Any, which: str, path: Path) -> None:
    """Draw one state of the ground ("before" or "after") with everything that stands on it, as a picture."""
    size = [int(n) for n in data[f"size_{which}"]]
    plotter = plot_of(data, which, off_screen=True, window_size=size)
    plotter.screenshot(str(path))
    plotter.close()


def plot_of(data: Any, which: str, **window: Any) -> Any:
    """One state of the ground with everything that stands on it, ready to be drawn; `window` goes to the plotter."""
    import pyvista

    # The library's own types are looser than what it takes; `Any` keeps the drawing readable.
    toolkit: Any = pyvista
    plotter = toolkit.Plotter(lighting="none", **window)
    plotter.set_background("#fbf8f1")
    plotter.enable_anti_aliasing("msaa", multi_samples=8)
    add_ground(plotter, data, which)
    _add_group(plotter, data, "solids")
    camera = plotter.camera
    camera.position, camera.focal_point, camera.up = tuple(data["eye"]), tuple(data["target"]), (0.0, 0.0, 1.0)
    camera.view_angle = float(data["angle"])
    plotter.renderer.ResetCameraClippingRange()
    return plotter


def add_ground(plotter: Any, data: Any, which: str) -> list[Any]:
    """Lay one state of the ground with its skin and cut sides; answers what was added."""
    import pyvista

    toolkit: Any = pyvista
    texture = toolkit.Texture(data[f"skin_{which}"])
    texture.SetMipmap(True)
    texture.SetMaximumAnisotropicFiltering(8.0)
    texture.InterpolateOn()
    ground = plotter.add_mesh(_ground(data, which), texture=texture, lighting=False)
    return [ground, *_add_group(plotter, data, f"walls_{which}")]


def _ground(data: Any, which: str) -> Any:
    """The ground as a grid of quads with places on its skin."""
    import pyvista

    places, window = data["places"], data["window"]
    mesh = pyvista.StructuredGrid(places[:, :, 0], places[:, :, 1], data[which])
    on_skin = places / window[2:]
    mesh.active_texture_coordinates = np.column_stack([on_skin[:, :, k].ravel(order="F") for k in (0, 1)])
    return mesh


def _add_group(plotter: Any, data: Any, group: str) -> list[Any]:
    """Every solid of one name, each in the colours it was given; answers what was added."""
    return [_add_solid(plotter, data, f"{group}_{k}") for k in range(int(data[group]))]


def _add_solid(plotter: Any, data: Any, name: str) -> Any:
    import pyvista

    corners = data[f"{name}_corners"]
    points = corners.reshape(-1, 3)
    faces = np.column_stack([np.full(len(corners), 3), np.arange(len(points)).reshape(-1, 3)])
    mesh = pyvista.PolyData(points, faces.ravel())
    mesh.cell_data["colour"] = (255 * data[f"{name}_colours"]).astype(np.uint8)
    opacity = float(data[f"{name}_opacity"])
    return plotter.add_mesh(
        mesh, scalars="colour", rgb=True, lighting=False, opacity=opacity, culling="back" if opacity < 1.0 else None
    )


def main(scene: str, folder: str) -> int:
    """Draw both states; answer the exit status."""
    leave_no_core()
    if not choose_window():
        print("no EGL or OSMesa library on this machine (libegl1 and libgl1-mesa-dri help)", file=sys.stderr)
        return NO_GRAPHICS
    with np.load(scene) as data:
        for which in ("after", "before"):
            render(data, which, Path(folder) / f"{which}.png")
    return 0


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:3]))
