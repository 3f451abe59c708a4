"""A still: the picture of a stage from a camera, the same on every machine, and how far away what it shows is."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from terrain.grid import Array
from viewer.still.camera import Camera
from viewer.still.fragments import fragments_of
from viewer.still.light import ShadowMap, shadow_map
from viewer.still.raster import TURNED, Faces, Nearness, cut_near, lay_triangles, no_faces
from viewer.still.shading import lay_fragments
from viewer.still.stage import Mesh, Stage, joined

Image = NDArray[np.uint8]

_ROWS = 48  # of a picture that are coloured at a time


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
    Solid bodies hide what lies behind them; what is clear lies over them as one film, of its nearest faces.
    """
    mesh = joined(stage.bodies)
    opacity = np.array([body.opacity for body in stage.bodies])
    casts = np.array([body.casts for body in stage.bodies])
    shadows = shadow_map(mesh.points, mesh.triangles[casts[mesh.bodies]], stage.sun)
    picture = _background(stage.sky, camera.size)
    solid = opacity[mesh.bodies] >= 1.0
    nearest, seen = no_faces(camera.size, len(TURNED))
    _lay(mesh, solid, camera, nearest, seen)
    _shade(stage, mesh, camera, shadows, nearest, seen, opacity, picture)
    hindmost = nearest.min(axis=2)
    if not solid.all():
        before = nearest.copy()
        seen[:] = -1
        _lay(mesh, ~solid, camera, before, seen)
        _shade(stage, mesh, camera, shadows, before, seen, opacity, picture)
    pixels: Image = np.clip(255.0 * picture + 0.5, 0, 255).astype(np.uint8)
    with np.errstate(divide="ignore"):
        depth = np.where(hindmost > 0.0, 1.0 / hindmost, np.float32(np.inf))
    return Still(pixels, depth)


def _background(sky: Array, size: tuple[int, int]) -> NDArray[np.float32]:
    """The picture with nothing in it, sRGB of 0 to 1."""
    down = np.linspace(0.0, 1.0, size[1])[:, None, None]
    rows = (sky[0] + down * (sky[1] - sky[0])) / 255.0
    return np.ascontiguousarray(np.broadcast_to(rows, (size[1], size[0], 3)), dtype=np.float32)


def _lay(mesh: Mesh, which: NDArray[np.bool_], camera: Camera, nearest: Nearness, seen: Faces) -> None:
    """Lay some of the triangles into the buffers."""
    numbers = np.flatnonzero(which)
    turned = (mesh.points - np.array(camera.eye)) @ np.stack([camera.right, camera.up, camera.forward]).T
    cut, triangles, faces = cut_near(turned, mesh.triangles[numbers])
    near = 1.0 / np.where(cut[:, 2] > 0.0, cut[:, 2], 1.0)
    spots = np.column_stack([cut[:, 0], -cut[:, 1]]) * (camera.focal * near)[:, None] + np.array(camera.centre)
    lay_triangles(spots, near, triangles, numbers[faces], TURNED, nearest, seen)


def _shade(
    stage: Stage,
    mesh: Mesh,
    camera: Camera,
    shadows: ShadowMap,
    nearest: Nearness,
    seen: Faces,
    opacity: Array,
    picture: NDArray[np.float32],
) -> None:
    """Colour the picture by what lies in the buffers, some rows at a time: what is at work on stays small."""
    for first in range(0, len(seen), _ROWS):
        rows = slice(first, first + _ROWS)
        found = fragments_of(mesh, camera, nearest[rows], seen[rows], first, TURNED)
        lay_fragments(found, mesh, stage.cover, stage.sun, shadows, opacity, picture[rows].reshape(-1, 3))
