"""A pinhole camera by plain numbers, the same for every way of making a picture."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from terrain.grid import Array


@dataclass(frozen=True)
class Camera:
    """Where the eye stands and what it looks at (x, y, z in metres), upright; `angle`: height of view, degrees."""

    eye: tuple[float, float, float]
    target: tuple[float, float, float]
    angle: float

    def project(self, points: Array, size: tuple[int, int]) -> tuple[Array, Array]:
        """Where (n, 3) points in metres fall in a picture of (width, height) pixels.

        Returns (n, 2) pixels, counted from the upper left corner, and (n,) depth in metres along the line of sight.
        """
        forward, right, up = self.axes()
        seen = np.asarray(points, dtype=float) - np.array(self.eye)
        depth = seen @ forward
        focal = size[1] / 2.0 / np.tan(np.radians(self.angle) / 2.0)
        scale = focal / np.where(np.abs(depth) < 1e-9, 1e-9, depth)
        across = size[0] / 2.0 + scale * (seen @ right)
        down = size[1] / 2.0 - scale * (seen @ up)
        return np.column_stack([across, down]), depth

    def axes(self) -> tuple[Array, Array, Array]:
        """Unit vectors (3,) forward, to the right and up in the picture."""
        forward = np.array(self.target) - np.array(self.eye)
        forward = forward / np.linalg.norm(forward)
        right = np.cross(forward, [0.0, 0.0, 1.0])
        right = right / np.linalg.norm(right)
        return forward, right, np.cross(right, forward)


def camera_over(
    corners: Array,
    toward: Array,
    height_angle: float,
    view_angle: float,
    size: tuple[int, int],
    fill: tuple[float, float],
) -> Camera:
    """A camera that looks along `toward` and just holds all corners.

    Parameters
    ----------
    corners
        (n, 3) points in metres that must be in the picture.
    toward
        (2,) direction of view on the plan.
    height_angle, view_angle
        Degrees that the eye looks down by, and the full height of its view.
    size
        Picture in pixels.
    fill
        Shares of the picture's width and height that the corners may take, 0 to 1.
    """
    down = np.radians(height_angle)
    flat = np.asarray(toward) / np.hypot(*toward)
    back = -np.array([flat[0] * np.cos(down), flat[1] * np.cos(down), -np.sin(down)])
    middle = (corners.min(axis=0) + corners.max(axis=0)) / 2.0
    near, far = 0.5, 1e4
    for _ in range(40):
        distance = (near * far) ** 0.5
        camera = _centred(middle, back, distance, view_angle, corners, size)
        spots, depth = camera.project(corners, size)
        half = np.abs(spots - np.array(size) / 2.0).max(axis=0)
        fits = bool((depth > 0.1).all() and (half <= np.array(fill) * np.array(size) / 2.0).all())
        near, far = (near, distance) if fits else (distance, far)
    return _centred(middle, back, far, view_angle, corners, size)


def _at(target: Array, back: Array, distance: float, view_angle: float) -> Camera:
    eye = target + distance * back
    return Camera((eye[0], eye[1], eye[2]), (target[0], target[1], target[2]), view_angle)


def _centred(
    middle: Array, back: Array, distance: float, view_angle: float, corners: Array, size: tuple[int, int]
) -> Camera:
    """The camera shifted sideways and up until the corners stand in the middle of the picture."""
    target = middle.copy()
    camera = _at(target, back, distance, view_angle)
    for _ in range(24):
        spots, depth = camera.project(corners, size)
        off = (spots.max(axis=0) + spots.min(axis=0)) / 2.0 - np.array(size) / 2.0
        # A pixel is so wide at the nearest corner: at the middle of a long bed, seen along it, it would overshoot.
        metres = min(distance, max(float(depth.min()), 0.1)) * 2.0 * np.tan(np.radians(view_angle) / 2.0) / size[1]
        _, right, up = camera.axes()
        target = target + metres * (off[0] * right - off[1] * up)
        camera = _at(target, back, distance, view_angle)
    return camera
