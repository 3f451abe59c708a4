"""A view drawn by numbers alone, for machines with no graphics library: the same scene, the same eye, no 3D library."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from terrain.grid import Array, Grid
from viewer.page import PAPER, channels
from viewer.pictures.camera import Camera
from viewer.pictures.drape import spread_to
from viewer.pictures.scene import Scene
from viewer.pictures.solids import ShadedMesh

Image = NDArray[np.uint8]
Canvas = NDArray[np.float32]

DENSE = 2000  # points along the longer side of the ground: closer than the pixels of the picture


def paint(scene: Scene, built: bool, size: tuple[int, int]) -> Image:
    """The scene as (rows, columns, 3) bytes for a picture of (width, height) pixels."""
    canvas = np.empty((size[1], size[0], 3), dtype=np.float32)
    canvas[:] = channels(PAPER)
    depth = np.full((size[1], size[0]), np.inf, dtype=np.float32)
    _lay_ground(canvas, depth, scene, built, size)
    whole = [solid for solid in scene.bodies(built) if solid.opacity >= 1.0]
    clear = [solid for solid in scene.bodies(built) if solid.opacity < 1.0]
    for solid in whole + clear:
        lay_solid(canvas, depth, solid, scene.camera, size)
    picture: Image = np.clip(255.0 * canvas + 0.5, 0, 255).astype(np.uint8)
    return picture


def _lay_ground(canvas: Canvas, depth: Canvas, scene: Scene, built: bool, size: tuple[int, int]) -> None:
    """Every pixel of the skin goes where the eye sees it, the far ones first, so that the near ones cover them."""
    skin = scene.skin_after if built else scene.skin_before
    heights = scene.after if built else scene.before
    points, colours = _skin_points(scene, heights, skin)
    spots, far = scene.camera.project(points, size)
    cells = np.floor(spots).astype(np.int32)
    seen = (far > 0) & (cells >= 0).all(axis=1) & (cells[:, 0] < size[0]) & (cells[:, 1] < size[1])
    cells, far, colours = cells[seen], far[seen].astype(np.float32), colours[seen]
    order = np.argsort(-far, kind="stable")
    cells, far, colours = cells[order], far[order], colours[order]
    canvas[cells[:, 1], cells[:, 0]] = colours
    depth[cells[:, 1], cells[:, 0]] = far


def _skin_points(scene: Scene, heights: Array, skin: Image) -> tuple[Array, Canvas]:
    """(n, 3) points in metres, dense enough that no pixel stays bare, and their colours (n, 3), 0 to 1."""
    fine = max(scene.block.half)
    columns, rows = (round(DENSE * half / fine) for half in scene.block.half)
    places = scene.block.places(columns, rows)
    flat = Grid(0.0, 0.0, 1.0, heights.shape[1], heights.shape[0])
    level = spread_to(
        flat,
        heights.astype(np.float32),
        np.linspace(0, heights.shape[1] - 1, columns),
        np.linspace(0, heights.shape[0] - 1, rows),
    )
    points = np.column_stack([places.reshape(-1, 2), level.ravel()])
    wide, high = scene.window[2], scene.window[3]
    pixel = np.array([skin.shape[1] / wide, skin.shape[0] / high])
    spots = np.minimum((places.reshape(-1, 2) * pixel).astype(np.intp), np.array(skin.shape[1::-1]) - 1)
    colours = skin[skin.shape[0] - 1 - np.maximum(spots[:, 1], 0), np.maximum(spots[:, 0], 0)]
    return points, (colours / np.float32(255.0)).astype(np.float32)


def lay_solid(canvas: Canvas, depth: Canvas, solid: ShadedMesh, camera: Camera, size: tuple[int, int]) -> None:
    """Lay triangles one by one on a canvas (rows, columns, 3), against the depth of what is already there.

    A clear solid tints each pixel once, by the nearest of its faces, however many lie behind one another.
    """
    spots, far = camera.project(solid.corners.reshape(-1, 3), size)
    nearest = depth.copy() if solid.opacity < 1.0 else depth
    tint = np.zeros_like(canvas) if solid.opacity < 1.0 else canvas
    for triangle, reach, colour in zip(spots.reshape(-1, 3, 2), far.reshape(-1, 3), solid.colours, strict=True):
        if (reach > 0).all():
            _lay_triangle(tint, nearest, triangle, reach, colour)
    if solid.opacity < 1.0:
        hit = nearest < depth
        canvas[hit] = (1 - solid.opacity) * canvas[hit] + solid.opacity * tint[hit]


def _lay_triangle(canvas: Canvas, depth: Canvas, spots: Array, far: Array, colour: Array) -> None:
    """One triangle (3, 2) in pixels with depth (3,) at its corners."""
    left, top = np.maximum(np.floor(spots.min(axis=0)).astype(int), 0)
    right, bottom = np.minimum(np.ceil(spots.max(axis=0)).astype(int) + 1, canvas.shape[1::-1])
    (ax, ay), (bx, by), (cx, cy) = spots
    area = (bx - ax) * (cy - ay) - (cx - ax) * (by - ay)
    if right <= left or bottom <= top or abs(area) < 1e-9:
        return
    x, y = np.arange(left, right)[None, :] + 0.5, np.arange(top, bottom)[:, None] + 0.5
    u = ((x - ax) * (cy - ay) - (cx - ax) * (y - ay)) / area
    v = ((bx - ax) * (y - ay) - (x - ax) * (by - ay)) / area
    reach = far[0] + u * (far[1] - far[0]) + v * (far[2] - far[0])
    window = (slice(top, bottom), slice(left, right))
    hit = (u >= 0) & (v >= 0) & (u + v <= 1) & (reach < depth[window])
    depth[window][hit] = reach[hit]
    canvas[window][hit] = colour
