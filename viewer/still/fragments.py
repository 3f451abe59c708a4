"""The surfaces that show in each pixel: which face, how much of the pixel, where in the yard, turned which way."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from terrain.grid import Array, Index
from terrain.numerics import compiled
from viewer.still.camera import Camera
from viewer.still.raster import Faces, Nearness
from viewer.still.stage import Mesh, bend, normal_of

_ONE_SURFACE = (
    0.03  # of the nearness: samples farther apart show two surfaces, as of a crest before what lies behind it
)
_EDGE_ON = 0.15  # cosine of a look: at a more grazing one a pixel is not taken to be drawn out any more


@dataclass(frozen=True)
class Fragments:
    """What shows in some pixels.

    Parameters
    ----------
    pixels, faces, shares
        (n,) number of the pixel, row by row, the face, and the share of the pixel that it takes.
    places, normals
        (n, 3) metres, and unit normals that face the eye.
    against, widths
        (n,) cosine of the look on the surface, and how wide a pixel is there, metres.
    """

    pixels: Index
    faces: Index
    shares: Array
    places: Array
    normals: Array
    against: Array
    widths: Array


def fragments_of(
    mesh: Mesh, camera: Camera, nearest: Nearness, seen: Faces, first_row: int, samples: Array
) -> Fragments:
    """What shows in some rows of a picture, of which `first_row` is the first."""
    most = int((seen >= 0).sum())
    pixels, faces = np.empty(most, dtype=np.int64), np.empty(most, dtype=np.int64)
    shares, spots = np.empty(most), np.empty((most, 2))
    count = _gather(nearest, seen, mesh.bodies, mesh.light, samples, first_row, pixels, faces, shares, spots)
    pixels, faces, shares = pixels[:count], faces[:count], shares[:count]
    axes = np.stack([camera.right, -camera.up, camera.forward])
    slopes = (spots[:count] - np.array(camera.centre)) / camera.focal
    places, normals, looks = np.empty((count, 3)), np.empty((count, 3)), np.empty((count, 2))
    eye = np.array(camera.eye, dtype=float)
    _locate(mesh.points, mesh.normals, mesh.triangles, faces, eye, axes, slopes, camera.focal, places, normals, looks)
    return Fragments(pixels, faces, shares, places, normals, looks[:, 0].copy(), looks[:, 1].copy())


@compiled
def _gather(
    nearest: Nearness,
    seen: Faces,
    bodies: Index,
    light: Array,
    samples: Array,
    first_row: int,
    pixels: Index,
    faces: Index,
    shares: Array,
    spots: Array,
) -> int:
    """Put the surfaces of every pixel into the last four arrays; answers how many there are."""
    rows, columns, count = seen.shape
    done = np.zeros(count, dtype=np.bool_)
    found = 0
    for row in range(rows):
        for column in range(columns):
            done[:] = False
            for s in range(count):
                face = seen[row, column, s]
                if face < 0 or done[s]:
                    continue
                mates = 0
                for t in range(s, count):
                    other = seen[row, column, t]
                    near = abs(nearest[row, column, t] - nearest[row, column, s])
                    if other == face or _alike(other, face, near, nearest[row, column, s], bodies, light):
                        mates += not done[t]
                        done[t] = True
                pixels[found], faces[found], shares[found] = row * columns + column, face, mates / count
                spots[found, 0] = column + samples[s, 0]
                spots[found, 1] = first_row + row + samples[s, 1]
                found += 1
    return found


@compiled
def _alike(one: int, other: int, apart: float, nearness: float, bodies: Index, light: Array) -> bool:
    """Whether two faces of a pixel are of one surface, which then needs its colour worked out once."""
    if one < 0 or bodies[one] != bodies[other]:
        return False
    return light[one, 0] == light[other, 0] and apart <= _ONE_SURFACE * nearness


@compiled
def _locate(
    points: Array,
    normals: Array,
    triangles: Index,
    faces: Index,
    eye: Array,
    axes: Array,
    slopes: Array,
    focal: float,
    places: Array,
    turned: Array,
    looks: Array,
) -> None:
    """Put places, normals, and cosine and width of a pixel of each fragment into the last three arrays."""
    for n in range(len(faces)):
        a, b = slopes[n, 0], slopes[n, 1]
        length = np.sqrt(1.0 + a * a + b * b)
        lx = (a * axes[0, 0] + b * axes[1, 0] + axes[2, 0]) / length
        ly = (a * axes[0, 1] + b * axes[1, 1] + axes[2, 1]) / length
        lz = (a * axes[0, 2] + b * axes[1, 2] + axes[2, 2]) / length
        u, v, depth = _meet(points, triangles, faces[n], eye, lx, ly, lz)
        places[n, 0], places[n, 1], places[n, 2] = eye[0] + depth * lx, eye[1] + depth * ly, eye[2] + depth * lz
        fx, fy, fz, _ = normal_of(points, triangles, faces[n])
        nx, ny, nz = bend(normals, triangles, faces[n], u, v, fx, fy, fz)
        against = -(nx * lx + ny * ly + nz * lz)
        # Seen from behind: thin things have two sides.
        side = -1.0 if fx * lx + fy * ly + fz * lz > 0.0 else 1.0
        turned[n, 0], turned[n, 1], turned[n, 2] = side * nx, side * ny, side * nz
        looks[n, 0] = side * against
        # A pixel is drawn out where the ground is seen at a grazing look; its mean width is what grain can show.
        looks[n, 1] = depth / focal * (0.7 + 0.3 / max(side * against, _EDGE_ON))


@compiled
def _meet(
    points: Array, triangles: Index, face: int, eye: Array, lx: float, ly: float, lz: float
) -> tuple[float, float, float]:
    """Where a look meets a triangle: the weights of its second and third corner, and how far away it is.

    Moller, Trumbore 1997, "Fast, minimum storage ray/triangle intersection", Journal of Graphics Tools 2(1).
    """
    a, b, c = triangles[face, 0], triangles[face, 1], triangles[face, 2]
    px, py, pz = points[b, 0] - points[a, 0], points[b, 1] - points[a, 1], points[b, 2] - points[a, 2]
    qx, qy, qz = points[c, 0] - points[a, 0], points[c, 1] - points[a, 1], points[c, 2] - points[a, 2]
    hx, hy, hz = ly * qz - lz * qy, lz * qx - lx * qz, lx * qy - ly * qx
    det = px * hx + py * hy + pz * hz
    det = det if abs(det) > 1e-18 else 1e-18
    sx, sy, sz = eye[0] - points[a, 0], eye[1] - points[a, 1], eye[2] - points[a, 2]
    kx, ky, kz = sy * pz - sz * py, sz * px - sx * pz, sx * py - sy * px
    u = (sx * hx + sy * hy + sz * hz) / det
    v = (lx * kx + ly * ky + lz * kz) / det
    depth = (qx * kx + qy * ky + qz * kz) / det
    # Rounding at the rim of a sliver must not send the place away.
    return min(max(u, 0.0), 1.0), min(max(v, 0.0), 1.0), max(depth, 0.0)
