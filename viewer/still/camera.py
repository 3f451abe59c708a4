"""A pinhole camera by plain numbers: where a point falls in a picture, and how far away it is."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from terrain.grid import Array

_UP = np.array([0.0, 0.0, 1.0])


@dataclass(frozen=True)
class Camera:
    """A camera with square pixels and no distortion.

    Parameters
    ----------
    eye
        Where it stands, (x, y, z) in metres.
    forward, right, up
        Unit vectors (3,) of its line of sight, to the right in the picture and up in it.
    focal
        Pixels to the unit of slope.
    centre
        The pixel (across, down from the top left corner) that it looks straight at; it may lie outside the picture.
    size
        Width and height of the picture, pixels.
    """

    eye: tuple[float, float, float]
    forward: Array
    right: Array
    up: Array
    focal: float
    centre: tuple[float, float]
    size: tuple[int, int]

    def project(self, points: Array) -> tuple[Array, Array]:
        """Where (n, 3) points in metres fall, (n, 2) pixels from the top left corner, and their depth (n,) in metres.

        Depth is counted along the line of sight; what has none, or a negative one, is not in the picture.
        """
        seen = np.asarray(points, dtype=float) - np.array(self.eye)
        depth = seen @ self.forward
        scale = self.focal / np.where(np.abs(depth) < 1e-9, 1e-9, depth)
        across = self.centre[0] + scale * (seen @ self.right)
        down = self.centre[1] - scale * (seen @ self.up)
        return np.column_stack([across, down]), depth

    def resized(self, width: int) -> Camera:
        """The same view in a picture of another width, pixels."""
        times = width / self.size[0]
        size = width, round(self.size[1] * times)
        centre = self.centre[0] * times, self.centre[1] * times
        return replace(self, focal=self.focal * times, centre=centre, size=size)


def looking_at(
    eye: tuple[float, float, float], target: tuple[float, float, float], angle: float, size: tuple[int, int]
) -> Camera:
    """A camera that looks at a target (x, y, z), upright; `angle`: full height of its view, degrees."""
    forward = np.array(target) - np.array(eye)
    forward = forward / np.linalg.norm(forward)
    right = np.cross(forward, _UP)
    right = right / np.linalg.norm(right)
    focal = size[1] / 2.0 / float(np.tan(np.radians(angle) / 2.0))
    return Camera(eye, forward, right, np.cross(right, forward), focal, (size[0] / 2.0, size[1] / 2.0), size)


def level_camera(
    eye: tuple[float, float, float], forward: Array, focal: float, horizon: float, size: tuple[int, int]
) -> Camera:
    """A camera that looks level along (2,) `forward` on the plan, so that uprights stay upright.

    `horizon` is its row, pixels from the top of the picture.
    """
    ahead = np.array([forward[0], forward[1], 0.0])
    right = np.array([forward[1], -forward[0], 0.0])
    return Camera(eye, ahead, right, _UP, focal, (size[0] / 2.0, horizon), size)


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
    ahead = (float(flat[0] * np.cos(down)), float(flat[1] * np.cos(down)), -float(np.sin(down)))
    turned = looking_at((0.0, 0.0, 0.0), ahead, view_angle, size)
    middle = (corners.min(axis=0) + corners.max(axis=0)) / 2.0
    near, far = 0.5, 1e4
    for _ in range(40):
        distance = (near * far) ** 0.5
        camera = _centred(turned, middle, distance, corners)
        spots, depth = camera.project(corners)
        half = np.abs(spots - np.array(size) / 2.0).max(axis=0)
        fits = bool((depth > 0.1).all() and (half <= np.array(fill) * np.array(size) / 2.0).all())
        near, far = (near, distance) if fits else (distance, far)
    return _centred(turned, middle, far, corners)


def _centred(turned: Camera, middle: Array, distance: float, corners: Array) -> Camera:
    """The camera so far from the middle, shifted until the corners stand in the middle of the picture."""
    eye = middle - distance * turned.forward
    camera = _standing(turned, eye)
    for _ in range(24):
        spots, depth = camera.project(corners)
        off = (spots.max(axis=0) + spots.min(axis=0)) / 2.0 - np.array(turned.centre)
        # A pixel is so wide at the nearest corner: at the middle of a long bed, seen along it, it would overshoot.
        metres = min(distance, max(float(depth.min()), 0.1)) / camera.focal
        eye = eye + metres * (off[0] * camera.right - off[1] * camera.up)
        camera = _standing(turned, eye)
        if np.abs(off).max() < 1e-6:
            break
    return camera


def _standing(turned: Camera, eye: Array) -> Camera:
    return replace(turned, eye=(float(eye[0]), float(eye[1]), float(eye[2])))
