"""The process that shows a scene in a window: `python -m viewer.pictures.window_child SCENE.npz FOLDER`.

It runs apart from the command because, on a machine with no working graphics library, opening a window ends the
process. FOLDER is not used; the drawing process of `viewer.pictures.view3d_child` is started the same way.
"""

from __future__ import annotations

import sys
from typing import Any

import numpy as np

from viewer.page import INK
from viewer.pictures.view3d_child import add_ground, leave_no_core, plot_of

HELP = "B: before or after.  Up, Down: heights.  Q: close."
STEPS = (1.0, 1.5, 2.0, 3.0, 4.0)  # how many times heights are drawn


class Window:
    """A scene with both states of the ground, and the keys that change it."""

    def __init__(self, data: Any, **window: Any) -> None:
        self.plotter = plot_of(data, "after", **window)
        # The ground and the four sides of its block come first.
        after = list(self.plotter.actors.values())[: 1 + int(data["walls_after"])]
        self.grounds = [after, add_ground(self.plotter, data, "before")]
        self.built, self.step = True, 0
        self.show()
        self.plotter.add_text(HELP, position="lower_left", font_size=11, color=INK)
        self.plotter.add_key_event("b", self.swap)
        self.plotter.add_key_event("Up", lambda: self.lift(1))
        self.plotter.add_key_event("Down", lambda: self.lift(-1))

    def show(self) -> None:
        """Show the ground in its state."""
        for state, shown in zip(self.grounds, (self.built, not self.built), strict=True):
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


def main(scene: str) -> int:
    """Open the window and wait until it is closed; answer the exit status."""
    leave_no_core()
    with np.load(scene) as data:
        Window(data, window_size=[1280, 720], title="Hummock").plotter.show()
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
