"""What somebody sees who stands in a yard: level sight, so that uprights stay upright, and one scale both ways."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from terrain.grid import Array, Grid
from viewer.page import Subject, top_of_mound
from viewer.pictures.camera import Camera
from viewer.pictures.standpoints import Standpoint, inside

SIDE = 0.14  # share of the bed's breadth in sight that is left free on each side
WIDEST, NARROWEST = 48.0, 6.0  # degrees to each side
SKY, FOREGROUND = 0.07, 0.05  # shares of the width above what must show, and below
FLATTEST, TALLEST = 0.2, 0.6  # height of a picture as a share of its width
NEAREST, FARTHEST = 0.3, 120.0  # metres
STEPS = 640  # along each line of sight
SEEN_TOP = 0.25  # metres over existing grade that always show, so that before and after share one frame


@dataclass(frozen=True)
class EyeView:
    """One frame, the same before and after.

    Parameters
    ----------
    eye
        (x, y, elevation) in metres, survey coordinates.
    forward
        (2,) unit direction of sight on the plan.
    focal
        Pixels to the unit of slope.
    width
        Pixels.
    top, bottom
        Rows of the frame counted down from the horizon, pixels; `top` is negative.
    """

    eye: tuple[float, float, float]
    forward: Array
    focal: float
    width: int
    top: int
    bottom: int

    @property
    def size(self) -> tuple[int, int]:
        """Width and height in pixels."""
        return self.width, self.bottom - self.top

    @property
    def right(self) -> Array:
        """(2,) unit direction to the right."""
        return np.array([self.forward[1], -self.forward[0]])

    @property
    def camera(self) -> Camera:
        """The same eye for things drawn on a canvas of `canvas` pixels, with the horizon in its middle."""
        high = self.canvas[1]
        target = self.eye[0] + float(self.forward[0]), self.eye[1] + float(self.forward[1]), self.eye[2]
        return Camera(self.eye, target, float(np.degrees(2.0 * np.arctan(high / 2.0 / self.focal))))

    @property
    def canvas(self) -> tuple[int, int]:
        """Pixels of a picture that holds the frame and has the horizon in its middle."""
        return self.width, 2 * max(-self.top, self.bottom)

    @property
    def rows(self) -> slice:
        """Rows of the frame on the canvas."""
        half = self.canvas[1] // 2
        return slice(half + self.top, half + self.bottom)

    def project(self, points: Array) -> tuple[Array, Array]:
        """Pixels (n, 2) from the frame's upper left corner of (n, 3) survey points, and their depth (n,) in metres."""
        seen = points - np.array(self.eye)
        depth = seen[:, :2] @ self.forward
        safe = np.where(np.abs(depth) < 1e-9, 1e-9, depth)
        across = self.width / 2.0 + self.focal * (seen[:, :2] @ self.right) / safe
        return np.column_stack([across, -self.focal * seen[:, 2] / safe - self.top]), depth


def eye_view(subject: Subject, stand: Standpoint, width: int) -> EyeView:
    """The frame that holds the whole bed, as far as somebody sees without turning the head."""
    ground, proposal = subject.ground, subject.proposal
    at = np.array([stand.at])
    level = max(float(ground.grid.sample(values, at)[0]) for values in (ground.elevation, proposal.elevation))
    eye = (*stand.at, level + stand.eye)
    corners = shapely.get_coordinates(shapely.segmentize(subject.site.bed.outline.exterior, 0.25))
    forward, half = _sight(subject, stand, corners)
    focal = width / 2.0 / np.tan(half)
    must = _must_show(subject, corners)
    rough = EyeView(eye, forward, float(focal), width, 0, 0)
    spots, depth = rough.project(must)
    shown = spots[depth > NEAREST, 1]
    low, high = (float(shown.max()), float(shown.min())) if shown.size else (0.3 * width, 0.0)
    top = min(high, 0.0) - SKY * width
    bottom = max(low + FOREGROUND * width, top + FLATTEST * width)
    # Where somebody stands close, the nearest ground is left out and not the top.
    bottom = min(bottom, top + TALLEST * width)
    return EyeView(eye, forward, float(focal), width, int(np.floor(top)), int(np.ceil(bottom)))


def _sight(subject: Subject, stand: Standpoint, corners: Array) -> tuple[Array, float]:
    """Unit direction of sight and half the angle of view, radians."""
    here = np.array(stand.at)
    if inside(subject.site.bed.outline, stand):
        east, north, _ = top_of_mound(subject.proposal)
        way = np.array([east, north]) - here
        return (way / max(float(np.hypot(*way)), 1e-9) if np.any(way) else np.array([0.0, 1.0])), np.radians(WIDEST)
    middle = np.array(subject.site.bed.outline.centroid.coords[0]) - here
    base = np.arctan2(middle[1], middle[0])
    turn = np.angle(np.exp(1j * (np.arctan2(corners[:, 1] - here[1], corners[:, 0] - here[0]) - base)))
    half = (1.0 + 2.0 * SIDE) * float(np.ptp(turn)) / 2.0
    way = base + float(turn.max() + turn.min()) / 2.0
    return np.array([np.cos(way), np.sin(way)]), float(np.clip(half, np.radians(NARROWEST), np.radians(WIDEST)))


def _must_show(subject: Subject, corners: Array) -> Array:
    """(n, 3) survey points: the edge of the bed, and the finished surface over it or a low mound's height."""
    grid, existing = subject.ground.grid, subject.ground.elevation
    level = grid.sample(existing, corners)
    step = max(int(0.25 / grid.cell), 1)
    bed = subject.proposal.bed[::step, ::step]
    x, y = np.meshgrid(grid.x[::step], grid.y[::step])
    raised = np.maximum(subject.proposal.elevation, existing + SEEN_TOP)[::step, ::step]
    return np.vstack([np.column_stack([corners, level]), np.column_stack([x[bed], y[bed], raised[bed]])])


def sight_lines(view: EyeView, grid: Grid, elevation: Array) -> tuple[NDArray[np.float64], Array]:
    """Depth at which each pixel meets the ground, and the sky line of each column.

    Beyond the grid the ground is taken to run on level from its edge.

    Returns
    -------
    depth
        (rows, columns) metres along the line of sight, inf for the sky.
    skyline
        (columns,) row where the ground ends, pixels from the frame's top.
    """
    columns = (np.arange(view.width) + 0.5 - view.width / 2.0) / view.focal
    depths = np.geomspace(NEAREST, FARTHEST, STEPS)
    ways = view.forward + columns[:, None] * view.right
    places = np.array(view.eye[:2]) + depths[None, :, None] * ways[:, None, :]
    level = grid.sample(elevation, places.reshape(-1, 2)).reshape(view.width, STEPS)
    down = view.focal * (view.eye[2] - level) / depths
    lowest = np.minimum.accumulate(down, axis=1)
    rows = np.arange(view.top, view.bottom) + 0.5
    found = np.empty((view.width, rows.size), dtype=np.intp)
    for column in range(view.width):
        # The first step at which the ground rises to the row.
        found[column] = np.searchsorted(-lowest[column], -rows)
    sky = found >= STEPS
    reach = np.clip(found, 1, STEPS - 1)
    near, far = np.take_along_axis(down, reach - 1, axis=1), np.take_along_axis(down, reach, axis=1)
    share = np.clip((near - rows) / np.where(near - far > 1e-12, near - far, 1.0), 0.0, 1.0)
    depth = depths[reach - 1] + share * (depths[reach] - depths[reach - 1])
    return np.where(sky, np.inf, depth).T, lowest[:, -1] - view.top
