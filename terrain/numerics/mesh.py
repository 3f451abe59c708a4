"""The yard as triangles that follow the outline and the keep-off circles exactly."""

from __future__ import annotations

from dataclasses import dataclass

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
