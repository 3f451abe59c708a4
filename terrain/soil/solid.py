"""The closed solid of placed fill: finished grade above, stripped ground below, walls between."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from terrain.grid import Array, Index
from terrain.numerics import Slab, YardMesh, directed_edges, part_above, turned, with_reverse

# Metres. A thinner layer counts as none: files in single precision could not tell its two sides apart.
THINNEST = 2e-6
# Metres. The smallest shift that still tells two vertices apart in such files.
_HAIR = 1e-5


@dataclass(frozen=True)
class Solid:
    """A closed body of triangles.

    Parameters
    ----------
    vertices
        (n, 3) easting, northing and elevation in metres, less `offset`.
    faces
        (m, 3) vertex indices, counter-clockwise seen from outside.
    offset
        What to add to the vertices to be back in survey coordinates, metres.
    """

    vertices: Array
    faces: Index
    offset: tuple[float, float, float]

    @property
    def volume(self) -> float:
        """Signed volume in m3 by the divergence theorem: tetrahedra from the origin to each face."""
        first, second, third = (self.vertices[self.faces[:, corner]] for corner in range(3))
        return float(np.einsum("ij,ij->", first, np.cross(second, third)) / 6.0)


def round_offset(mesh: YardMesh, sod: float = 0.0) -> tuple[float, float, float]:
    """Whole metres just south-west of and below the yard (stripped by `sod` metres), in survey coordinates.

    Coordinates less this offset are small, so that files in single precision keep hundredths of a millimetre.
    """
    lowest = min(float(mesh.existing.min()) - sod, float(mesh.proposed.min()))
    west, south = np.floor(mesh.points.min(axis=0))
    return float(west), float(south), float(np.floor(lowest))


def fill_solid(mesh: YardMesh, sod: float) -> Solid:
    """Closed solid between stripped ground and finished grade over the triangles that may take fill.

    Parameters
    ----------
    mesh
        Existing and proposed grade on one triangulation.
    sod
        Depth stripped over the whole of `mesh.inside` before filling, metres.

    Notes
    -----
    Where finished grade lies below stripped ground there is no fill; triangles are cut along that line.
    Layers thinner than `THINNEST` are left out. A solid with no faces is returned where nothing is placed.
    """
    offset = round_offset(mesh, sod)
    slab = Slab(
        mesh.points - np.array(offset[:2]),
        mesh.triangles[mesh.inside],
        mesh.existing - sod - offset[2],
        mesh.proposed - offset[2],
    )
    return replace(solid_between(slab), offset=offset)


def solid_between(slab: Slab) -> Solid:
    """Closed, consistently outward solid between two surfaces, where the upper lies above the lower.

    Every edge belongs to exactly two faces: vertices without thickness are shared by top and bottom,
    triangles without thickness are left out, and places where the body would touch itself are held apart by a
    hundredth of a millimetre.
    """
    thin = np.abs(slab.upper - slab.lower) <= THINNEST
    part = part_above(replace(slab, lower=np.where(thin, slab.upper, slab.lower)))
    part = _part_fans(_open_seams(part))
    tops, bottoms, vertices = _vertices(part)
    walls = _walls(_boundary(part.triangles), tops, bottoms)
    faces = np.concatenate([tops[part.triangles], bottoms[part.triangles[:, ::-1]], walls])
    return Solid(vertices, faces, (0.0, 0.0, 0.0))


def _vertices(part: Slab) -> tuple[Index, Index, Array]:
    """Number every point's top and bottom vertex (one where there is no thickness); list the vertices."""
    used = np.zeros(len(part.points), dtype=bool)
    used[part.triangles.ravel()] = True
    thick = used & (part.upper > part.lower)
    tops = np.cumsum(used) - 1
    count = int(used.sum())
    bottoms = np.where(thick, count + np.cumsum(thick) - 1, tops)
    above = np.column_stack([part.points[used], part.upper[used]])
    below = np.column_stack([part.points[thick], part.lower[thick]])
    return tops, bottoms, np.concatenate([above, below])


def _walls(edges: Index, tops: Index, bottoms: Index) -> Index:
    """Two triangles a boundary edge, facing out; none that falls together at a thin end."""
    start, end = edges.T
    faces = np.concatenate(
        [
            np.column_stack([tops[end], tops[start], bottoms[start]]),
            np.column_stack([tops[end], bottoms[start], bottoms[end]]),
        ]
    )
    proper = (faces[:, 0] != faces[:, 1]) & (faces[:, 1] != faces[:, 2]) & (faces[:, 2] != faces[:, 0])
    return np.asarray(faces[proper])


def _boundary(triangles: Index) -> Index:
    """Edges that only one triangle has, (k, 2), with the triangles on their left."""
    edges = directed_edges(triangles)
    return edges[~with_reverse(edges)]


def _hair(values: Array) -> float:
    """A shift in metres that single precision tells apart at the size of these coordinates."""
    reach = float(np.abs(values).max()) if values.size else 0.0
    return max(_HAIR, 4.0 * float(np.spacing(np.float32(reach))))


def _open_seams(part: Slab) -> Slab:
    """Give thickness along inner edges that have none: there four faces would share one edge."""
    edges = directed_edges(part.triangles)
    thin = part.upper <= part.lower
    edges = edges[thin[edges[:, 0]] & thin[edges[:, 1]]]
    seam = edges[with_reverse(edges)].min(axis=1)
    lower = part.lower.copy()
    lower[seam] = part.upper[seam] - _hair(part.upper)
    return replace(part, lower=lower)


def _part_fans(part: Slab) -> Slab:
    """Give each fan of triangles its own vertex where fans meet in one thick point only.

    Left together, the walls of all fans would share one upright edge. All fans but one step back by a hair.
    """
    starts = _boundary(part.triangles)[:, 0]
    thick = part.upper > part.lower
    touching = np.flatnonzero((np.bincount(starts, minlength=len(thick)) > 1) & thick)
    triangles, points = part.triangles.copy(), [part.points]
    copies: list[int] = []
    for vertex in touching.tolist():
        for number, fan in enumerate(_fans(part.triangles, vertex)[1:], start=1):
            corners = triangles[fan]
            triangles[fan] = np.where(corners == vertex, len(thick) + len(copies), corners)
            copies.append(vertex)
            points.append(_step_into(part.points, vertex, part.triangles[fan], number))
    keep = np.concatenate([np.arange(len(thick)), np.array(copies, dtype=np.int64)])
    return Slab(np.concatenate(points), triangles, part.lower[keep], part.upper[keep])


def _fans(triangles: Index, vertex: int) -> list[list[int]]:
    """Triangles about a boundary vertex, in groups joined edge to edge, each counter-clockwise."""
    around = np.flatnonzero((triangles == vertex).any(axis=1))
    corner = (triangles[around] == vertex).argmax(axis=1)
    around_vertex = turned(triangles[around], corner)
    onward = {
        start: (triangle, end)
        for triangle, (_, start, end) in zip(around.tolist(), around_vertex.tolist(), strict=True)
    }
    fans = []
    for edge in sorted(set(onward) - {end for _, end in onward.values()}):
        fan: list[int] = []
        while edge in onward:
            triangle, edge = onward[edge]
            fan.append(triangle)
        fans.append(fan)
    return fans


def _step_into(points: Array, vertex: int, fan: Index, hairs: int) -> Array:
    """The vertex, (1, 2), moved into its fan; by more for each next fan, which may point the same way."""
    inward = points[fan.ravel()].mean(axis=0) - points[vertex]
    length = float(np.hypot(*inward))
    return np.asarray(points[vertex] + inward * min(0.25, hairs * _hair(points) / length))[None, :]
