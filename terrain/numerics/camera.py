"""A camera with one radial term, and the one that took a photograph of known points (resection by least squares).

World: x east, y north, z up, metres. Camera: x right, y down, z forward. Pixels from the top left. With X the place and
C the camera, X_c = R (X - C), a = X_c/Z_c, b = Y_c/Z_c, r2 = a^2 + b^2: u = cx + f a (1 + k1 r2), v the same with b
(Hartley and Zisserman, Multiple View Geometry, 2nd ed., Cambridge 2004, ch. 6 and 7.4).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from terrain.grid import Array
from terrain.numerics.two_errors import TwoErrors, two_errors

_NEAR = 0.05  # metres before the lens: what lies nearer, or behind, is held there
_TURNS = 12  # directions from which the search starts
_AWAY = (0.6, 1.2, 2.5)  # times the spread of the points: distances from which it starts
_DOWN = (0.0, -0.9, -1.5)  # radians: from the ground, from a window or a roof, from the air
_LENS = 1.6  # metres over the lowest point, of a camera that looks level
_TRIED = 20  # starts that suit the marks best as they are, which are followed
_STAGES = ((6, 6), (30, 2), (400, 1))  # evaluations of each search, and how many of the best are followed on
POSE, FOCAL = 6, 6  # unknowns of a pose; the place of the focal length among all unknowns


@dataclass(frozen=True)
class PhotoCamera:
    """Where a camera stands, how it is turned and what its lens does.

    Parameters
    ----------
    at
        (3,) metres.
    turn
        Direction of view in radians: clockwise from north, up from level, and the roll about it.
    focal
        Pixels.
    middle
        (2,) the pixel on the axis.
    bulge
        k1, the radial term.
    """

    at: Array
    turn: tuple[float, float, float]
    focal: float
    middle: Array
    bulge: float = 0.0

    @property
    def axes(self) -> Array:
        """(3, 3): the directions right, down and forward."""
        return axes_of(*self.turn)

    def seen(self, places: Array) -> tuple[Array, Array]:
        """Pixels (n, 2) at which (n, 3) places are seen, and their depths (n,) along the axis, metres."""
        return _projected(self.at, self.axes, self.focal, self.middle, self.bulge, places)


@dataclass(frozen=True)
class Resection:
    """The camera that marks in a picture tell of, and how well.

    Parameters
    ----------
    camera
        The likeliest.
    misses
        (n, 2) pixels: seen less marked.
    doubt
        Of turn (3), place (3), log of the focal length and, where it was free, k1: from the stated errors of the
        marks, their sizes judged by the misses.
    condition
        Of the weighed Jacobian with columns of unit length, without what is expected of the focal length: how far the
        marks themselves hold the unknowns apart.
    """

    camera: PhotoCamera
    misses: Array
    doubt: TwoErrors
    condition: float

    @property
    def deviations(self) -> Array:
        """(m,) standard deviation of each unknown, in the order of `doubt`."""
        return np.asarray(np.sqrt(np.diag(self.doubt.covariance)))

    @property
    def focal_deviation(self) -> float:
        """Standard deviation of the focal length, a share of it."""
        return float(self.deviations[FOCAL])

    def within(self, places: Array, share: float) -> Array:
        """(n,) pixels from where (n, 3) places are seen to where they are in a share of all cases."""
        slope = _slopes(_unknowns(self.camera)[: len(self.deviations)], places, self.camera.middle)
        return self.doubt.reach(slope.reshape(len(places), 2, -1), share)


def axes_of(yaw: float, pitch: float, roll: float) -> Array:
    """(3, 3): right, down and forward of a camera that looks `yaw` from north and `pitch` up, and its roll; radians."""
    sy, cy, sp, cp, sq, cq = (part(angle) for angle in (yaw, pitch, roll) for part in (math.sin, math.cos))
    forward = np.array([sy * cp, cy * cp, sp])
    right = np.array([cy, -sy, 0.0])
    down = np.cross(forward, right)
    return np.array([cq * right + sq * down, -sq * right + cq * down, forward])


def resected(
    places: Array,
    pixels: Array,
    error: Array,
    middle: Array,
    focal: tuple[float, float],
    free_bulge: bool = False,
    near: PhotoCamera | None = None,
) -> Resection:
    """The camera that sees known places at the pixels that were marked.

    Parameters
    ----------
    places, pixels
        (n, 3) metres and (n, 2).
    error
        (n, 2) standard deviations of each mark, pixels: of pointing, and of what the survey adds.
    middle
        (2,) the pixel on the axis.
    focal
        The focal length that is expected, pixels, and the standard deviation of its logarithm (inf: nothing is known).
    free_bulge
        Whether k1 is sought too; it is 0 otherwise.
    near
        A camera near the one that is sought, from which the search starts; None: nothing is known of it.

    Notes
    -----
    The search starts from many directions and distances, since resection has local least squares; the best few are
    followed to their end. Searches that end with a place behind the camera lose by their cost.
    """
    from scipy.optimize import least_squares

    expected, spread = math.log(focal[0]), focal[1]
    size = np.hypot(*error.T)[:, None]

    def misfit(unknowns: Array) -> Array:
        seen = _seen_by(unknowns, places, middle)
        parts = [((seen - pixels) / size).ravel()]
        if math.isfinite(spread):
            parts.append(np.array([(unknowns[FOCAL] - expected) / spread]))
        return np.concatenate(parts)

    def searched(start: Array, most: int) -> Any:
        return least_squares(misfit, start, x_scale="jac", max_nfev=most)

    if near is None:
        every = _starts(places, pixels, middle, expected)
        best = sorted(every, key=lambda start: float(np.sum(misfit(start) ** 2)))[:_TRIED]
    else:
        best = [_unknowns(near)[: FOCAL + 1]]
    for evaluations, kept in _STAGES if near is None else _STAGES[-1:]:
        found = sorted((searched(start, evaluations) for start in best), key=lambda one: float(one.cost))
        best = [one.x for one in found[:kept]]
    if free_bulge:
        best = [searched(np.append(best[0], 0.0), evaluations).x]
    return _told(best[0], places, pixels, error, middle, (expected, spread))


def _told(
    unknowns: Array, places: Array, pixels: Array, error: Array, middle: Array, focal: tuple[float, float]
) -> Resection:
    """The camera of the unknowns found, with what the marks, and the focal length expected, say of them."""
    camera = _camera(unknowns, middle)
    misses = camera.seen(places)[0] - pixels
    jacobian, stated = _slopes(unknowns, places, middle), np.repeat(error, 2, axis=0)
    weighed = jacobian / np.hypot(*stated.T)[:, None]
    size = np.linalg.norm(weighed, axis=0)
    condition = float(np.linalg.cond(weighed / np.where(size > 0.0, size, 1.0)))
    told, sure = misses.ravel(), np.zeros(len(jacobian))
    if math.isfinite(focal[1]):
        jacobian = np.vstack([jacobian, np.eye(len(unknowns))[FOCAL]])
        told, sure = np.append(told, unknowns[FOCAL] - focal[0]), np.append(sure, focal[1])
        stated = np.vstack([stated, np.zeros(2)])
    return Resection(camera, misses, two_errors(jacobian, told, stated, sure), condition)


def _starts(places: Array, pixels: Array, middle: Array, log_focal: float) -> list[Array]:
    """Unknowns from which the search starts: round the points, looking at their middle as the picture has it."""
    centre = places.mean(axis=0)
    spread = float(np.linalg.norm(places[:, :2] - centre[:2], axis=1).max()) + 1.0
    lens = float(places[:, 2].min()) + _LENS
    off = math.atan((float(pixels[:, 0].mean()) - middle[0]) / math.exp(log_focal))
    starts = []
    for yaw in np.arange(_TURNS) * (2.0 * math.pi / _TURNS):
        for pitch in _DOWN:
            for away in _AWAY:
                at = centre - away * spread * axes_of(yaw, pitch, 0.0)[2]
                at[2] = at[2] if pitch else lens
                starts.append(np.array([yaw - off, pitch, 0.0, *at, log_focal]))
    return starts


def _unknowns(camera: PhotoCamera) -> Array:
    """The unknowns of a camera, k1 the last."""
    return np.array([*camera.turn, *camera.at, math.log(camera.focal), camera.bulge])


def _camera(unknowns: Array, middle: Array) -> PhotoCamera:
    yaw, pitch, roll = (float(angle) for angle in unknowns[:3])
    bulge = float(unknowns[7]) if len(unknowns) > 7 else 0.0
    yaw = math.remainder(yaw, 2.0 * math.pi)
    return PhotoCamera(unknowns[3:6], (yaw, pitch, roll), math.exp(float(unknowns[FOCAL])), middle, bulge)


def _seen_by(unknowns: Array, places: Array, middle: Array) -> Array:
    """Pixels (n, 2) of places by a camera of these unknowns."""
    axes, bulge = axes_of(*unknowns[:3]), unknowns[7] if len(unknowns) > 7 else 0.0
    return _projected(unknowns[3:6], axes, math.exp(min(unknowns[FOCAL], 30.0)), middle, bulge, places)[0]


def _projected(at: Array, axes: Array, focal: float, middle: Array, bulge: float, places: Array) -> tuple[Array, Array]:
    x, y, depth = (places - at) @ axes.T[:, 0], (places - at) @ axes.T[:, 1], (places - at) @ axes.T[:, 2]
    held = np.maximum(depth, _NEAR)
    flat = np.column_stack([x / held, y / held])
    pixels: Array = middle + focal * flat * (1.0 + bulge * np.sum(flat**2, axis=1, keepdims=True))
    return pixels, depth


def _slopes(unknowns: Array, places: Array, middle: Array) -> Array:
    """(2n, m): change of the pixels of (n, 3) places with each unknown, by central differences."""
    columns: list[NDArray[np.float64]] = []
    for k in range(len(unknowns)):
        step = np.zeros(len(unknowns))
        step[k] = 1e-6
        ahead, behind = (_seen_by(unknowns + way * step, places, middle) for way in (1.0, -1.0))
        columns.append((ahead - behind).ravel() / 2e-6)
    return np.column_stack(columns)
