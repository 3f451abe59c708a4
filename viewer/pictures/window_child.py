"""The process that shows a scene in a window: `python -m viewer.pictures.window_child SCENE.npz`.

It runs apart from the command because, on a machine with no working graphics library, opening a window ends the
process. Whoever started it judges it by its exit status.
"""

from __future__ import annotations

import sys
from typing import Any

import numpy as np

from viewer.page import INK, PAPER

HELP = "B: before or after.  Up, Down: heights.  Q: close."
STEPS = (1.0, 1.5, 2.0, 3.0, 4.0)  # how many times heights are drawn
# Level ground comes out a little lighter than its colour, which is that of a chip in a shop.
_AMBIENT, _SUN = 0.55, 1.2


class Window:
    """A scene with both states of the ground, and the keys that change it."""

    def __init__(self, data: Any, **window: Any) -> None:
        import pyvista

        # The library's own types are looser than what it takes; `Any` keeps the drawing readable.
        toolkit: Any = pyvista
        self.plotter = toolkit.Plotter(lighting="none", **window)
        self.plotter.set_background(PAPER)
        self.plotter.enable_anti_aliasing("msaa", multi_samples=8)
        sun = tuple(float(part) for part in data["sun"])
        self.plotter.add_light(toolkit.Light(position=sun, light_type="scene light", intensity=_SUN))
        self.states = [self._add_state(data, name) for name in ("after", "before")]
        camera = self.plotter.camera
        camera.position, camera.focal_point, camera.up = tuple(data["eye"]), tuple(data["target"]), (0.0, 0.0, 1.0)
        camera.view_angle = float(data["angle"])
        self.plotter.renderer.ResetCameraClippingRange()
        self.built, self.step = True, 0
        self.show()
        self.plotter.add_text(HELP, position="lower_left", font_size=11, color=INK)
        self.plotter.add_key_event("b", self.swap)
        self.plotter.add_key_event("Up", lambda: self.lift(1))
        self.plotter.add_key_event("Down", lambda: self.lift(-1))

    def _add_state(self, data: Any, state: str) -> list[Any]:
        """Every body of one state; answers what was added."""
        import pyvista

        added = []
        for k in range(int(data[state])):
            name = f"{state}_{k}"
            triangles = data[f"{name}_triangles"]
            faces = np.column_stack([np.full(len(triangles), 3), triangles])
            mesh = pyvista.PolyData(data[f"{name}_points"], faces.ravel())
            mesh.cell_data["colour"] = data[f"{name}_colours"].astype(np.uint8)
            opacity = float(data[f"{name}_opacity"])
            plotter: Any = self.plotter
            added.append(
                plotter.add_mesh(mesh, scalars="colour", rgb=True, ambient=_AMBIENT, diffuse=1.0, opacity=opacity)
            )
        return added

    def show(self) -> None:
        """Show the yard in its state."""
        for state, shown in zip(self.states, (self.built, not self.built), strict=True):
            for body in state:
                body.SetVisibility(shown)

    def swap(self) -> None:
        """Change between before and after."""
        self.built = not self.built
        self.show()
        self.plotter.render()

    def lift(self, way: int) -> None:
        """Draw heights larger or smaller by a step."""
        self.step = min(max(self.step + way, 0), len(STEPS) - 1)
        self.plotter.set_scale(zscale=STEPS[self.step], reset_camera=False)
        self.plotter.render()


def leave_no_core() -> None:
    """A crash of the graphics library must not leave a memory image on the user's disk."""
    try:
        import resource
    except ImportError:  # not a Unix machine
        return
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))


def main(scene: str) -> int:
    """Open the window and wait until it is closed; answer the exit status."""
    leave_no_core()
    with np.load(scene) as data:
        Window(data, window_size=[1280, 720], title="Hummock").plotter.show()
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
