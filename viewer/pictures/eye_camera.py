"""What somebody sees who stands in a yard: level sight, so that uprights stay upright, and one scale both ways."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from terrain.grid import Array
from viewer.page import Subject, top_of_mound
from viewer.pictures.standpoints import Standpoint, clear_of, inside
from viewer.pictures.yard_stage import staff_size
from viewer.still import Camera, level_camera

SIDE = 0.14  # share of the bed's breadth in sight that is left free on each side
WIDEST, NARROWEST = 48.0, 6.0  # degrees to each side
SKY, FOREGROUND = 0.07, 0.05  # shares of the width above what must show, and below
FLATTEST, TALLEST = 0.2, 0.6  # height of a picture as a share of its width
NEAREST, FARTHEST = 0.3, 120.0  # metres
BESIDE_BED = 0.25  # metres from the bed's end to the staff
STEPS = 640  # along each line of sight
Mask = NDArray[np.bool_]
_ROOM_FOR_STAFF = 0.9  # of the tallest frame: what else must show may shift it
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
        """The same eye, as what draws stills takes it."""
        return level_camera(self.eye, self.forward, self.focal, float(-self.top), self.size)

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
    rough = EyeView(eye, forward, float(focal), width, 0, 0)
    must = np.vstack([_must_show(subject, corners), _staff_ends(subject, rough)])
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


def _staff_ends(subject: Subject, view: EyeView) -> Array:
    """(2, 3) foot and top of the staff, survey points."""
    at = staff_place(subject, view)
    foot = float(subject.ground.grid.sample(subject.proposal.elevation, np.array([at]))[0])
    step, count = staff_size(subject.site.units)
    return np.array([(*at, foot), (*at, foot + step * count)])


def staff_place(subject: Subject, view: EyeView) -> tuple[float, float]:
    """Where the staff stands: off the bed's right end in the frame, or its left where the right is hidden; beside
    another part of the bed where it would be cut off at both.
    """
    outline = subject.site.bed.outline
    corners = shapely.get_coordinates(shapely.segmentize(outline.exterior, 0.25))
    away = corners - np.array(outline.centroid.coords[0])
    places = corners + BESIDE_BED * away / np.maximum(np.hypot(*away.T), 1e-9)[:, None]
    across, whole, ahead = _staff_seen(subject, view, places)
    framed = ahead & (np.abs(across - view.width / 2.0) < (0.5 - SIDE / 2.0) * view.width)
    best = framed & whole
    shown = best if best.any() else framed if framed.any() else ahead
    ends = [places[int(np.argmax(np.where(shown, side * across, -np.inf)))] for side in (1.0, -1.0)]
    free = [clear_of(subject.site, (view.eye[0], view.eye[1]), end[None]) for end in ends]
    east, north = ends[0] if free[0] >= free[1] else ends[1]
    return float(east), float(north)


def _staff_seen(subject: Subject, view: EyeView, places: Array) -> tuple[Array, Mask, Mask]:
    """For a staff at places (n, 2): its pixel across, whether a frame can hold it upright, whether it lies ahead."""
    foot = subject.ground.grid.sample(subject.proposal.elevation, places)
    step, count = staff_size(subject.site.units)
    spots, depth = view.project(np.column_stack([places, foot]))
    top, _ = view.project(np.column_stack([places, foot + step * count]))
    low, high = spots[:, 1] + view.top, np.minimum(top[:, 1] + view.top, 0.0)  # from the horizon
    return spots[:, 0], low - high < _ROOM_FOR_STAFF * (TALLEST - SKY) * view.width, depth > 1.0


def holds_staff(subject: Subject, view: EyeView) -> bool:
    """Whether the staff stands whole in the frame."""
    spots, depth = view.project(_staff_ends(subject, view))
    inside_frame = (spots >= 0.0) & (spots <= np.array(view.size))
    return bool((depth > NEAREST).all() and inside_frame.all())


def share_left_out(subject: Subject, view: EyeView) -> float:
    """Share of the bed that lies outside the frame, 0 to 1."""
    must = _must_show(subject, shapely.get_coordinates(subject.site.bed.outline.exterior))
    spots, depth = view.project(must)
    wide, high = view.size
    within = (depth > NEAREST) & (spots >= 0.0).all(axis=1) & (spots[:, 0] <= wide) & (spots[:, 1] <= high)
    return 1.0 - float(within.mean())
