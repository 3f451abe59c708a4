"""What a still shows: bodies of triangles, what lies on the ground, the sun, and what stands behind it all."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from terrain.grid import Array, Index
from terrain.numerics import compiled
from viewer.still.cover import Cover
from viewer.still.surfaces import BEYOND, COLOURS, GROUND, LIGHTS, PLAIN, linear

_ONE_FACE = 0.86  # cosine: faces that meet at less than about 30 degrees are lit as one bent surface


@dataclass(frozen=True)
class StillBody:
    """One body.

    Parameters
    ----------
    points, triangles
        (v, 3) metres and (m, 3) indices.
    kind
        One of the kinds of `viewer.still.surfaces`.
    colours
        (m, 3) sRGB of 0 to 255 of a plain body, and of any other the shares of its kind's colour; None: all of it.
    opacity
        1, or less for a body that what lies behind it shows through.
    casts
        Whether it throws a shadow.
    """

    points: Array
    triangles: Index
    kind: int = PLAIN
    colours: Array | None = None
    opacity: float = 1.0
    casts: bool = True

    @property
    def light(self) -> Array:
        """(m, 3) its own colour, light of 0 to 1."""
        count = len(self.triangles)
        if self.colours is None:
            return np.tile(LIGHTS[self.kind], (count, 1))
        return linear(self.colours) if self.kind == PLAIN else LIGHTS[self.kind] * self.colours


@dataclass(frozen=True)
class Stage:
    """What a still shows.

    Parameters
    ----------
    bodies
        All of them, metres; those of the ground first.
    cover
        What lies on the ground.
    sun
        Unit vector (3,) to the sun.
    sky
        Colours of what stands behind it all, at the top of the picture and at the bottom, sRGB of 0 to 255 (2, 3).
    """

    bodies: tuple[StillBody, ...]
    cover: Cover
    sun: Array
    sky: Array


def face_colours(body: StillBody, cover: Cover) -> Array:
    """(m, 3) sRGB of 0 to 255 of the triangles, without grain and light; of ground, what lies at the middle of each."""
    if body.kind == PLAIN and body.colours is not None:
        return body.colours
    if body.kind != GROUND:
        return np.clip(COLOURS[body.kind] * (1.0 if body.colours is None else body.colours), 0.0, 255.0) * np.ones(
            (len(body.triangles), 1)
        )
    middles = body.points[body.triangles].mean(axis=1)[:, :2]
    spots = np.round((middles - cover.corner) / cover.cell).astype(int)
    rows, columns = cover.shown.shape
    across, up = np.clip(spots[:, 0], 0, columns - 1), np.clip(spots[:, 1], 0, rows - 1)
    kinds = np.full(len(middles), BEYOND)
    for kind, inside in zip(cover.kinds, cover.inside, strict=True):
        kinds[inside[up, across] > 0.0] = kind
    return COLOURS[kinds]


@dataclass(frozen=True)
class Mesh:
    """Bodies as one: points, triangles, and for each triangle its kind, colour (light of 0 to 1) and number of body."""

    points: Array
    normals: Array
    triangles: Index
    kinds: Index
    light: Array
    bodies: Index


def joined(bodies: tuple[StillBody, ...]) -> Mesh:
    """All bodies as one mesh, their surfaces smooth where they bend a little and sharp where they break."""
    starts = np.cumsum([0, *(len(body.points) for body in bodies)])
    counts = [len(body.triangles) for body in bodies]
    points = np.concatenate([body.points for body in bodies]) if bodies else np.zeros((0, 3))
    shifted = [body.triangles + start for body, start in zip(bodies, starts[:-1], strict=True)]
    triangles = np.concatenate(shifted).astype(np.int64) if bodies else np.zeros((0, 3), dtype=np.int64)
    light = np.concatenate([body.light for body in bodies]) if bodies else np.zeros((0, 3))
    points = np.ascontiguousarray(points, dtype=float)
    kinds = np.repeat(np.array([body.kind for body in bodies], dtype=np.int64), counts)
    numbers = np.repeat(np.arange(len(bodies), dtype=np.int64), counts)
    return Mesh(points, point_normals(points, triangles), triangles, kinds, light, numbers)


@compiled
def normal_of(points: Array, triangles: Index, face: int) -> tuple[float, float, float, float]:
    """Unit normal of a triangle, and twice its area; all 0 where it has none."""
    a, b, c = triangles[face, 0], triangles[face, 1], triangles[face, 2]
    px, py, pz = points[b, 0] - points[a, 0], points[b, 1] - points[a, 1], points[b, 2] - points[a, 2]
    qx, qy, qz = points[c, 0] - points[a, 0], points[c, 1] - points[a, 1], points[c, 2] - points[a, 2]
    x, y, z = py * qz - pz * qy, pz * qx - px * qz, px * qy - py * qx
    length = np.sqrt(x * x + y * y + z * z)
    scale = 1.0 / length if length > 0.0 else 0.0
    return x * scale, y * scale, z * scale, length


@compiled
def point_normals(points: Array, triangles: Index) -> Array:
    """(v, 3) unit normals of the points: the mean of the faces about each, by their area."""
    found = np.zeros((len(points), 3))
    for face in range(len(triangles)):
        x, y, z, area = normal_of(points, triangles, face)
        for corner in range(3):
            point = triangles[face, corner]
            found[point, 0] += area * x
            found[point, 1] += area * y
            found[point, 2] += area * z
    for point in range(len(points)):
        length = np.sqrt(found[point, 0] ** 2 + found[point, 1] ** 2 + found[point, 2] ** 2)
        for k in range(3):
            found[point, k] /= max(length, 1e-30)
    return found


@compiled
def bend(
    normals: Array, triangles: Index, face: int, u: float, v: float, fx: float, fy: float, fz: float
) -> tuple[float, float, float]:
    """Unit normal at weights 1-u-v, u, v of a triangle's corners, given its own flat one.

    A corner at which the surface breaks counts with the flat normal, so that edges stay sharp.
    """
    x, y, z = 0.0, 0.0, 0.0
    for corner in range(3):
        point = triangles[face, corner]
        weight = u if corner == 1 else v if corner == 2 else 1.0 - u - v
        px, py, pz = normals[point, 0], normals[point, 1], normals[point, 2]
        if px * fx + py * fy + pz * fz < _ONE_FACE:
            px, py, pz = fx, fy, fz
        x, y, z = x + weight * px, y + weight * py, z + weight * pz
    scale = 1.0 / max(np.sqrt(x * x + y * y + z * z), 1e-12)
    return x * scale, y * scale, z * scale
