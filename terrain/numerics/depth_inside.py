"""How deep nodes lie inside a part of a raster, and which of them lies deepest."""

from __future__ import annotations

import numpy as np
from scipy import ndimage

from terrain.grid import Array, Mask

_OFF = 0.02  # what a node's distance from the part's middle takes from its depth: enough to part those as good as equal


def distance_inside(part: Mask) -> Array:
    """Distance in nodes from each node of a part to the nearest outside it; the raster's edge counts as outside."""
    distance: Array = ndimage.distance_transform_edt(np.pad(part, 1))[1:-1, 1:-1]
    return distance


def deepest_inside(part: Mask) -> tuple[int, int] | None:
    """Row and column of the node farthest inside a part, near its middle among those about as deep; None: no part."""
    if not part.any():
        return None
    rows, columns = np.nonzero(part)
    j, i = np.ogrid[: part.shape[0], : part.shape[1]]
    depth = distance_inside(part) - _OFF * np.hypot(j - rows.mean(), i - columns.mean())
    row, column = np.unravel_index(int(np.argmax(depth)), part.shape)
    return int(row), int(column)
