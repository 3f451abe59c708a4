"""The yard as triangles that follow the outline and the keep-off circles exactly."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from terrain.grid import Array, Mask


@dataclass(frozen=True)
class YardMesh:
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

    def slopes_of(self, elevation: Array) -> Array:
        """(m,) slope on every triangle, rise/run, of a surface given at the vertices, (n,) metres."""
        rise = gradient(self.points[self.triangles], elevation[self.triangles])
        slopes = np.hypot(rise[:, 0], rise[:, 1])
        slopes.setflags(write=False)
        return slopes


def gradient(p: Array, depth: Array) -> Array:
    """Gradient (m, 2) of the depth over each triangle; 0 over a triangle without area."""
    # A row for each corner, (3, m): the same steps on neighbouring numbers are several times as quick.
    x, y, z = (np.ascontiguousarray(values.T) for values in (p[..., 0], p[..., 1], depth))
    ax, ay, rise_a = x[1] - x[0], y[1] - y[0], z[1] - z[0]
    bx, by, rise_b = x[2] - x[0], y[2] - y[0], z[2] - z[0]
    double = ax * by - ay * bx
    scale = np.where(double == 0.0, 0.0, 1.0 / np.where(double == 0.0, 1.0, double))
    return np.column_stack([(rise_a * by - rise_b * ay) * scale, (rise_b * ax - rise_a * bx) * scale])
