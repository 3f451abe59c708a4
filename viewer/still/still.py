"""A still: the picture of a stage from a camera, the same on every machine, and how far away what it shows is."""

from __future__ import annotations

from dataclasses import dataclass
from functools import reduce
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from terrain.grid import Array, Index
from viewer.still.camera import Camera
from viewer.still.fragments import fragments_of
from viewer.still.light import ShadowMap, shadow_map
from viewer.still.raster import TURNED, Faces, Nearness, cut_near, lay_triangles, no_faces
from viewer.still.shading import lay_fragments
from viewer.still.stage import Mesh, Stage, joined

Image = NDArray[np.uint8]

_STRIP, _ROWS = 120, 24  # rows of a picture that are laid at a time, and that are coloured


@dataclass(frozen=True)
class Still:
    """A picture.

    Parameters
    ----------
    pixels
        (height, width, 3) sRGB.
    depth
        (height, width) metres along the line of sight to the farthest solid thing in each pixel, inf for the sky.
    """

    pixels: Image
    depth: NDArray[np.float32]


def draw_still(stage: Stage, camera: Camera) -> Still:
    """The picture of a stage.

    Notes
    -----
    Solid bodies hide what lies behind them; what is clear lies over them as one film, of its nearest faces. The picture
    is made strip by strip, so that the buffers of its samples stay small.
    """
    mesh = joined(stage.bodies)
    opacity = np.array([body.opacity for body in stage.bodies])
    casts = np.array([body.casts for body in stage.bodies])
    shadows = shadow_map(mesh.points, mesh.triangles[casts[mesh.bodies]], stage.sun)
    wide, high = camera.size
    pixels: Image = np.empty((high, wide, 3), dtype=np.uint8)
    depth = np.empty((high, wide), dtype=np.float32)
    clear = opacity[mesh.bodies] < 1.0
    turned = (mesh.points - np.array(camera.eye)) @ np.stack([camera.right, camera.up, camera.forward]).T
    solid, film = (_projected(turned, mesh.triangles, np.flatnonzero(which), camera) for which in (~clear, clear))
    for first in range(0, high, _STRIP):
        rows = slice(first, min(first + _STRIP, high))
        strip = _background(stage.sky, camera.size, rows)
        nearest, seen = no_faces((wide, len(strip)), len(TURNED))
        lay_triangles(solid.spots - [0.0, first], *solid[1:], TURNED, nearest, seen)
        hindmost = reduce(np.minimum, np.moveaxis(nearest, 2, 0))  # over an axis of four it takes four times as long
        _shade(stage, mesh, camera, shadows, nearest, seen, opacity, first, strip)
        if len(film.faces):
            seen[:] = -1
            lay_triangles(film.spots - [0.0, first], *film[1:], TURNED, nearest, seen)
            _shade(stage, mesh, camera, shadows, nearest, seen, opacity, first, strip)
        with np.errstate(divide="ignore"):
            depth[rows] = np.where(hindmost > 0.0, 1.0 / hindmost, np.float32(np.inf))
        pixels[rows] = np.clip(255.0 * strip + 0.5, 0, 255).astype(np.uint8)
    return Still(pixels, depth)


def _background(sky: Array, size: tuple[int, int], rows: slice) -> NDArray[np.float32]:
    """Some rows of the picture with nothing in it, sRGB of 0 to 1."""
    down = np.linspace(0.0, 1.0, size[1])[rows, None, None]
    shades = (sky[0] + down * (sky[1] - sky[0])) / 255.0
    return np.ascontiguousarray(np.broadcast_to(shades, (len(down), size[0], 3)), dtype=np.float32)


class _Layer(NamedTuple):
    """Triangles as they fall on the picture: pixels and nearness of their corners, and the face that each is of."""

    spots: Array
    near: Array
    triangles: Index
    faces: Index


def _projected(turned: Array, triangles: Index, numbers: Index, camera: Camera) -> _Layer:
    """Some of the triangles, less what lies behind the eye; `turned` are all corners in the camera's own axes."""
    cut, triangles, faces = cut_near(turned, triangles[numbers])
    near = 1.0 / np.where(cut[:, 2] > 0.0, cut[:, 2], 1.0)
    spots = cut[:, :2] * np.array([camera.focal, -camera.focal]) * near[:, None] + np.array(camera.centre)
    return _Layer(spots, near, triangles, numbers[faces])


def _shade(
    stage: Stage,
    mesh: Mesh,
    camera: Camera,
    shadows: ShadowMap,
    nearest: Nearness,
    seen: Faces,
    opacity: Array,
    first: int,
    strip: NDArray[np.float32],
) -> None:
    """Colour a strip, of which `first` is the first row, by what lies in the buffers, a few rows each time."""
    for start in range(0, len(seen), _ROWS):
        rows = slice(start, start + _ROWS)
        found = fragments_of(mesh, camera, nearest[rows], seen[rows], first + start, TURNED)
        lay_fragments(found, mesh, stage.cover, stage.sun, shadows, opacity, strip[rows].reshape(-1, 3))
