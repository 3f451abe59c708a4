"""Lines made edges of a triangulation by splitting the triangles that they cross; the surface stays as it is."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely.geometry import LineString, box

from terrain.grid import Array, Index, Mask, frozen
from terrain.numerics import Edge, YardMesh, edge_between

# Metres. A vertex this near to a line belongs to it; the slivers that a nearer cut would leave carry no shape.
SNAP = 5e-4
_AROUND = 0.01  # metres beside a line within which triangles are looked at


def with_lines(mesh: YardMesh, lines: Iterable[Array]) -> tuple[YardMesh, Mask]:
    """The same surfaces with every line an edge of the mesh, in plan to `SNAP`.

    Parameters
    ----------
    mesh
        Existing and proposed grade. Vertices added on a line take their heights from the triangle or side they lie on,
        so that no height, slope or volume changes.
    lines
        (k, 2) or (k, 3) arrays, metres; the parts outside the mesh are left out, and so are heights.

    Returns
    -------
    tuple
        The mesh, its old vertices first; and (n,) True at the vertices on a line.
    """
    parts = lines_within(mesh, lines)
    on_line = np.zeros(len(mesh.points), dtype=bool)
    if not parts:
        return mesh, on_line
    near = _triangles_along(mesh, parts)
    split = _Split(mesh, near)
    touched: set[int] = set()
    for part in parts:
        touched |= split.draw(shapely.get_coordinates(part))
    mesh = split.finished(near)
    on_line = np.zeros(len(mesh.points), dtype=bool)
    on_line[sorted(touched)] = True
    return mesh, on_line


def lines_within(mesh: YardMesh, lines: Iterable[Array]) -> list[LineString]:
    """The parts of some lines (k, 2 or 3) that lie in the rectangle of the mesh, in plan."""
    yard = box(*mesh.points.min(axis=0), *mesh.points.max(axis=0))
    cut = [LineString(np.asarray(line)[:, :2]).intersection(yard) for line in lines]
    parts = [part for shape in cut for part in shapely.get_parts(shape)]
    return [part for part in parts if part.geom_type == "LineString" and part.length > 2 * SNAP]


def _triangles_along(mesh: YardMesh, parts: Sequence[LineString]) -> Index:
    """Numbers of the triangles that a line touches, and of those close by."""
    corners = mesh.points[mesh.triangles]
    low, high = corners.min(axis=1), corners.max(axis=1)
    found = np.zeros(len(mesh.triangles), dtype=bool)
    for part in parts:
        for piece in itertools.pairwise(part.coords):
            segment = LineString(piece)
            west, south, east, north = segment.bounds
            some = np.flatnonzero(
                (low[:, 0] <= east + _AROUND)
                & (high[:, 0] >= west - _AROUND)
                & (low[:, 1] <= north + _AROUND)
                & (high[:, 1] >= south - _AROUND)
            )
            shapes = shapely.polygons(corners[some])
            found[some[shapely.dwithin(shapes, segment, _AROUND)]] = True
    return np.flatnonzero(found)


@dataclass(frozen=True)
class _Vertex:
    """Place, existing and proposed height, metres."""

    place: tuple[float, float]
    existing: float
    proposed: float


class _Split:
    """Some triangles of a mesh while they are being split; the others keep their numbers and never change."""

    def __init__(self, mesh: YardMesh, near: Index) -> None:
        self.mesh = mesh
        self.added: list[_Vertex] = []
        self.triangles: list[tuple[int, int, int]] = [tuple(row) for row in mesh.triangles[near].tolist()]
        self.parent: list[int] = near.tolist()
        self.beside: dict[Edge, set[int]] = {}
        for number in range(len(self.triangles)):
            self._attach(number)

    def vertex(self, number: int) -> _Vertex:
        """A vertex, old or added."""
        old = len(self.mesh.points)
        if number >= old:
            return self.added[number - old]
        east, north = self.mesh.points[number]
        return _Vertex(
            (float(east), float(north)), float(self.mesh.existing[number]), float(self.mesh.proposed[number])
        )

    def _places(self, numbers: Index) -> Array:
        """(k, 2) places of vertices, metres."""
        old = numbers < len(self.mesh.points)
        places = np.empty((len(numbers), 2))
        places[old] = self.mesh.points[numbers[old]]
        for k in np.flatnonzero(~old).tolist():
            places[k] = self.added[int(numbers[k]) - len(self.mesh.points)].place
        return places

    def draw(self, line: Array) -> set[int]:
        """Make every piece of a line an edge; answer the vertices on it."""
        stops = [self._stand(place) for place in line]
        touched = set(stops)
        for start, end in itertools.pairwise(stops):
            if start != end:
                touched.update(self._joined(start, end))
        return touched

    def _joined(self, start: int, end: int, tries: int = 6) -> set[int]:
        """Make the way from one vertex to another edges of the mesh; answer the vertices on it.

        A vertex made on a crossed edge is as good as on the line only; between two that lie within `SNAP` of it an edge
        may still cross, so that each such part is joined again.
        """
        path = self._path(start, end)
        touched = set(path)
        for pair in itertools.pairwise(path):
            if edge_between(*pair) not in self.beside:
                if tries == 0:
                    raise ArithmeticError(f"a line could not be made an edge between vertices {pair}")
                touched |= self._joined(*pair, tries - 1)
        return touched

    def _stand(self, place: Array) -> int:
        """The vertex at a place, made where there is none."""
        corners = np.array(self.triangles)
        around = np.unique(corners)
        spots = self._places(around)
        away = np.hypot(*(spots - place).T)
        nearest = int(np.argmin(away))
        if away[nearest] <= SNAP:
            return int(around[nearest])
        edges = np.array(list(self.beside))
        a, b = (spots[np.searchsorted(around, edges[:, k])] for k in range(2))
        share, off = _along(a, b, place)
        on = np.flatnonzero((off <= SNAP) & (share > 0.0) & (share < 1.0))
        if on.size:
            best = int(on[np.argmin(off[on])])
            foot = a[best] + share[best] * (b[best] - a[best])
            return self._split_edge(edge_between(*edges[best].tolist()), float(share[best]), foot)
        first, second, third = (spots[np.searchsorted(around, corners[:, k])] for k in range(3))
        weights = _barycentric(first, second, third, place)
        return self._split_triangle(int(np.argmax(weights.min(axis=1))), weights, place)

    def _path(self, start: int, end: int) -> list[int]:
        """The vertices from one to another along a straight line, those on crossed edges made first."""
        edges = np.array(list(self.beside))
        around = np.unique(edges)
        spots = self._places(around)
        tail, head = np.array(self.vertex(start).place), np.array(self.vertex(end).place)
        share, off = _along(tail[None], head[None], spots)
        on = (off <= SNAP) & (share >= 0.0) & (share <= 1.0)
        on[np.searchsorted(around, [start, end])] = True
        a, b = (np.searchsorted(around, edges[:, k]) for k in range(2))
        sides = _side(tail, head, spots)
        crossed = ~on[a] & ~on[b] & (sides[a] * sides[b] < 0.0)
        stops = [(float(share[k]), int(around[k])) for k in np.flatnonzero(on)]
        for number in np.flatnonzero(crossed):
            first, second = a[number], b[number]
            part = sides[first] / (sides[first] - sides[second])
            place = spots[first] + part * (spots[second] - spots[first])
            at = float(_along(tail[None], head[None], place)[0][0])
            if 0.0 < at < 1.0:
                stops.append((at, self._split_edge(edge_between(*edges[number].tolist()), float(part), place)))
        path = [number for _, number in sorted(stops) if number not in (start, end)]
        return [start, *path, end]

    def _split_edge(self, edge: Edge, share: float, place: Array) -> int:
        """A new vertex on an edge, `share` of the way from its first end; the triangles beside it become two each."""
        first, second = (self.vertex(number) for number in edge)
        new = self._add(
            place,
            first.existing + share * (second.existing - first.existing),
            first.proposed + share * (second.proposed - first.proposed),
        )
        for number in sorted(self.beside[edge]):
            corners = self.triangles[number]
            turn = next(k for k in range(3) if edge_between(corners[k], corners[(k + 1) % 3]) == edge)
            a, b, c = (corners[(turn + k) % 3] for k in range(3))
            self._replace(number, [(a, new, c), (new, b, c)])
        return new

    def _split_triangle(self, number: int, weights: Array, place: Array) -> int:
        corners = self.triangles[number]
        spots = [self.vertex(corner) for corner in corners]
        new = self._add(
            place,
            float(weights[number] @ [spot.existing for spot in spots]),
            float(weights[number] @ [spot.proposed for spot in spots]),
        )
        a, b, c = corners
        self._replace(number, [(a, b, new), (b, c, new), (c, a, new)])
        return new

    def _add(self, place: Array, existing: float, proposed: float) -> int:
        self.added.append(_Vertex((float(place[0]), float(place[1])), existing, proposed))
        return len(self.mesh.points) + len(self.added) - 1

    def _replace(self, number: int, parts: Sequence[tuple[int, int, int]]) -> None:
        corners = self.triangles[number]
        for k in range(3):
            edge = edge_between(corners[k], corners[(k + 1) % 3])
            self.beside[edge].discard(number)
            if not self.beside[edge]:
                del self.beside[edge]
        self.triangles[number] = parts[0]
        self._attach(number)
        for part in parts[1:]:
            self.triangles.append(part)
            self.parent.append(self.parent[number])
            self._attach(len(self.triangles) - 1)

    def _attach(self, number: int) -> None:
        corners = self.triangles[number]
        for k in range(3):
            self.beside.setdefault(edge_between(corners[k], corners[(k + 1) % 3]), set()).add(number)

    def finished(self, near: Index) -> YardMesh:
        """The mesh with the parts in place of the triangles that were split."""
        mesh = self.mesh
        kept = np.ones(len(mesh.triangles), dtype=bool)
        kept[near] = False
        parent = np.array(self.parent)
        places = np.array([vertex.place for vertex in self.added]).reshape(-1, 2)
        return replace(
            mesh,
            points=frozen(np.vstack([mesh.points, places])),
            triangles=frozen(np.vstack([mesh.triangles[kept], np.array(self.triangles, dtype=np.int64)])),
            inside=frozen(np.concatenate([mesh.inside[kept], mesh.inside[parent]])),
            existing=frozen(np.concatenate([mesh.existing, [vertex.existing for vertex in self.added]])),
            proposed=frozen(np.concatenate([mesh.proposed, [vertex.proposed for vertex in self.added]])),
            dug=None if mesh.dug is None else frozen(np.concatenate([mesh.dug[kept], mesh.dug[parent]])),
        )


def _side(tail: Array, head: Array, spots: Array) -> Array:
    """(n,) twice the area of the triangle tail, head, spot: positive where the spot lies to the left."""
    along, reach = head - tail, spots - tail
    return np.asarray(along[0] * reach[:, 1] - along[1] * reach[:, 0])


def _along(tail: Array, head: Array, spots: Array) -> tuple[Array, Array]:
    """Share of the way from tail to head at the foot of each spot, and the spot's distance from that line, metres."""
    along, reach = head - tail, spots - tail
    length2 = np.sum(along**2, axis=1)
    share = np.sum(along * reach, axis=1) / length2
    return share, np.abs(along[:, 0] * reach[:, 1] - along[:, 1] * reach[:, 0]) / np.sqrt(length2)


def _barycentric(first: Array, second: Array, third: Array, place: Array) -> Array:
    """(m, 3) weights of a place in triangles with corners (m, 2) each."""
    p, q, r = second - first, third - first, place - first
    area = p[:, 0] * q[:, 1] - p[:, 1] * q[:, 0]
    v = (r[:, 0] * q[:, 1] - r[:, 1] * q[:, 0]) / area
    w = (p[:, 0] * r[:, 1] - p[:, 1] * r[:, 0]) / area
    return np.column_stack([1.0 - v - w, v, w])
