"""The yard as triangles that follow the outline and the keep-off circles exactly."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from terrain.fingerprint import Comparable
from terrain.grid import Array, Mask
from terrain.numerics.machine_code import compiled


@dataclass(frozen=True, eq=False, repr=False)
class YardMesh(Comparable):
    """Existing and proposed grade on one triangulation.

    Parameters
    ----------
    points
        (n, 2) easting and northing of the vertices, metres in survey coordinates.
    triangles
        (m, 3) vertex indices, counter-clockwise seen from above.
    inside
        (m,): True where the triangle lies in the ground that may take fill (the bed less keep-offs and keep-clear).
        No triangle crosses the edge of that ground: the outline and the keep-off circles are edges of the mesh.
    existing, proposed
        (n,) elevation of each vertex in metres; they are equal wherever nothing is filled or dug.
    dug
        (m,): True where the triangle lies in the ground that a basin or a channel takes; None where nothing is dug.
    """

    points: Array
    triangles: NDArray[np.int64]
    inside: Mask
    existing: Array
    proposed: Array
    dug: Mask | None = None

    def __repr__(self) -> str:
        return f"<YardMesh: {len(self.points)} points, {len(self.triangles)} triangles, {self.inside.sum()} in the bed>"

    @property
    def fill(self) -> Array:
        """(n,) depth of fill at the vertices, metres."""
        return self.proposed - self.existing

    @cached_property
    def existing_slopes(self) -> Array:
        """(m,) slope of the existing grade on every triangle, rise/run; worked out when first asked for."""
        return self.slopes_of(self.existing)

    @cached_property
    def proposed_slopes(self) -> Array:
        """(m,) slope of the proposed grade on every triangle, rise/run; worked out when first asked for."""
        return self.slopes_of(self.proposed)

    @cached_property
    def areas(self) -> Array:
        """(m,) plan area of every triangle, m2; worked out when first asked for."""
        areas: Array = _areas(self.points, self.triangles)
        areas.setflags(write=False)
        return areas

    @cached_property
    def raised(self) -> Mask:
        """(m,): True where some corner of the triangle is filled; worked out when first asked for."""
        filled = self.fill > 0.0
        first, second, third = self.triangles.T
        raised: Mask = filled[first] | filled[second] | filled[third]
        raised.setflags(write=False)
        return raised

    def slopes_of(self, elevation: Array) -> Array:
        """(m,) slope on every triangle, rise/run, of a surface given at the vertices, (n,) metres."""
        slopes: Array = _slopes(self.points, self.triangles, elevation)
        slopes.setflags(write=False)
        return slopes


@compiled
def _areas(points, triangles):  # type: ignore[no-untyped-def]  # pragma: no cover - compiled
    """Plan area of every triangle."""
    out = np.empty(len(triangles))
    for f in range(len(triangles)):
        a, b, c = triangles[f, 0], triangles[f, 1], triangles[f, 2]
        ax, ay = points[b, 0] - points[a, 0], points[b, 1] - points[a, 1]
        bx, by = points[c, 0] - points[a, 0], points[c, 1] - points[a, 1]
        out[f] = abs(ax * by - ay * bx) / 2.0
    return out


@compiled
def _slopes(points, triangles, z):  # type: ignore[no-untyped-def]  # pragma: no cover - compiled
    """Size of the gradient over every triangle, as `gradient` has it; 0 over a triangle without area."""
    out = np.zeros(len(triangles))
    for f in range(len(triangles)):
        a, b, c = triangles[f, 0], triangles[f, 1], triangles[f, 2]
        ax, ay, rise_a = points[b, 0] - points[a, 0], points[b, 1] - points[a, 1], z[b] - z[a]
        bx, by, rise_b = points[c, 0] - points[a, 0], points[c, 1] - points[a, 1], z[c] - z[a]
        double = ax * by - ay * bx
        if double != 0.0:
            east, north = (rise_a * by - rise_b * ay) / double, (rise_b * ax - rise_a * bx) / double
            out[f] = np.sqrt(east * east + north * north)
    return out


def gradient(p: Array, depth: Array) -> Array:
    """Gradient (m, 2) of the depth over each triangle; 0 over a triangle without area."""
    # A row for each corner, (3, m): the same steps on neighbouring numbers are several times as quick.
    x, y, z = (np.ascontiguousarray(values.T) for values in (p[..., 0], p[..., 1], depth))
    ax, ay, rise_a = x[1] - x[0], y[1] - y[0], z[1] - z[0]
    bx, by, rise_b = x[2] - x[0], y[2] - y[0], z[2] - z[0]
    double = ax * by - ay * bx
    scale = np.where(double == 0.0, 0.0, 1.0 / np.where(double == 0.0, 1.0, double))
    return np.column_stack([(rise_a * by - rise_b * ay) * scale, (rise_b * ax - rise_a * bx) * scale])
