"""What lies on the ground, as a map: for each kind how far inside or outside its edge a place is.

Distances change evenly from node to node, so that an edge drawn where they pass 0 is smooth at any size.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy import ndimage
from shapely.geometry.base import BaseGeometry

from terrain.grid import Array, Grid, Index
from terrain.numerics import compiled
from viewer.still.noise import grain_at
from viewer.still.surfaces import BEYOND, LAWN, MULCH, SOIL

MOST_NODES = 450_000
FINEST = 0.03  # metres between nodes
_RAGGED = 0.03  # metres: where turf ends it does so in tufts, not along a knife's line
_BAND, _FAR = (
    2,
    1e3,
)  # cells on either side of an edge within which distances are exact; what stands farther off, metres


@dataclass(frozen=True)
class Cover:
    """What lies on the ground.

    Parameters
    ----------
    corner, cell
        Where node (0, 0) stands (2,), and metres between nodes.
    inside
        (k, ny, nx) metres inside the edge of each kind's area, negative outside; later ones lie on earlier ones.
    kinds
        (k,) what each is. Where none is inside, and off the map, the ground is one that nobody measured.
    sky
        (ny, nx) share of the sky that the ground sees.
    shown
        (ny, nx) how much is drawn, 1 all and 0 nothing; what stands over the ground fades with it. Off the map `off`.
    off
        See `shown`.
    mulch
        (3,) sRGB of mulch that is not fresh, 0 to 255; None: as it is laid.
    """

    corner: Array
    cell: float
    inside: NDArray[np.float32]
    kinds: Index
    sky: NDArray[np.float32]
    shown: NDArray[np.float32]
    off: float
    mulch: Array | None = None

    @cached_property
    def maps(self) -> NDArray[np.float32]:
        """(2, ny, nx) `shown`, and `sky`."""
        return np.stack([self.shown, self.sky])


def cover_grid(bounds: tuple[float, float, float, float]) -> Grid:
    """Nodes for a map over west, south, east, north in metres."""
    west, south, east, north = bounds
    cell = max(FINEST, float(np.sqrt((east - west) * (north - south) / MOST_NODES)))
    return Grid(west, south, cell, int((east - west) / cell) + 2, int((north - south) / cell) + 2)


def depth_inside(area: BaseGeometry, grid: Grid) -> NDArray[np.float32]:
    """(ny, nx) metres inside the edge of an area, negative outside; exact near the edge, `_FAR` elsewhere."""
    return _depth_inside(shapely.to_wkb(area), grid)


@lru_cache(maxsize=8)  # before and after, and other forms in the same yard, have most areas in common
def _depth_inside(written: bytes, grid: Grid) -> NDArray[np.float32]:
    area = shapely.from_wkb(written)
    far = np.float32(_FAR)
    if area.is_empty:
        return np.full(grid.shape, -far)
    shapely.prepare(area)
    inside = shapely.contains_xy(area, *grid.nodes.T).reshape(grid.shape)
    found: NDArray[np.float32] = np.where(inside, far, -far)
    reach = ndimage.generate_binary_structure(2, 2)
    near = ndimage.binary_dilation(inside, reach, _BAND) & ~ndimage.binary_erosion(inside, reach, _BAND, border_value=1)
    # An area too small for any node still has an edge.
    near |= _around(area, grid)
    away = shapely.distance(shapely.points(grid.nodes[near.ravel()]), area.boundary)
    found[near] = np.where(inside[near], away, -away)
    found.flags.writeable = False
    return found


def _around(area: BaseGeometry, grid: Grid) -> NDArray[np.bool_]:
    """Nodes about every part of an area that is smaller than a few cells."""
    near = np.zeros(grid.shape, dtype=bool)
    for part in shapely.get_parts(area):
        if part.area > 25.0 * grid.cell**2:
            continue
        west, south, east, north = part.bounds
        rows = slice(
            *np.clip(np.array([south - grid.y0, north - grid.y0]) // grid.cell + [-1, 3], 0, grid.ny).astype(int)
        )
        columns = slice(
            *np.clip(np.array([west - grid.x0, east - grid.x0]) // grid.cell + [-1, 3], 0, grid.nx).astype(int)
        )
        near[rows, columns] = True
    return near


def cover_of(areas: Sequence[tuple[int, BaseGeometry]], grid: Grid, sky: NDArray[np.float32]) -> Cover:
    """The map of areas of the kinds given, later ones on top, with `sky` on the grid's nodes; all of it is drawn."""
    inside = np.stack([depth_inside(area, grid) for _, area in areas])
    kinds = np.array([kind for kind, _ in areas], dtype=np.int64)
    corner = np.array([grid.x0, grid.y0])
    return Cover(corner, grid.cell, inside, kinds, sky, np.ones_like(sky), 1.0)


def resampled(values: Array, grid: Grid, onto: Grid) -> NDArray[np.float32]:
    """Values of one grid (ny, nx) between its nodes, at the nodes of another, by two passes."""
    i = np.clip((onto.x - grid.x0) / grid.cell, 0.0, grid.nx - 1.000001)
    j = np.clip((onto.y - grid.y0) / grid.cell, 0.0, grid.ny - 1.000001)
    i0, j0 = i.astype(np.intp), j.astype(np.intp)
    u, v = (i - i0).astype(np.float32)[None, :], (j - j0).astype(np.float32)[:, None]
    single = values.astype(np.float32)
    by_rows = single[j0] * (1 - v) + single[j0 + 1] * v
    return np.asarray(by_rows[:, i0] * (1 - u) + by_rows[:, i0 + 1] * u)


@compiled
def read_map(values: NDArray[np.float32], layer: int, across: float, up: float, off: float) -> float:
    """Value of one layer of maps (k, ny, nx) between its nodes; `off` outside it."""
    i, j = int(np.floor(across)), int(np.floor(up))
    if min(i, j) < 0 or i > values.shape[2] - 2 or j > values.shape[1] - 2:
        return off
    u, v = across - i, up - j
    south = values[layer, j, i] * (1.0 - u) + values[layer, j, i + 1] * u
    north = values[layer, j + 1, i] * (1.0 - u) + values[layer, j + 1, i + 1] * u
    return south * (1.0 - v) + north * v


@compiled
def kinds_at(
    x: float, y: float, pixel: float, across: float, up: float, inside: NDArray[np.float32], kinds: Index
) -> tuple[int, int, float]:
    """What lies on the ground at a place: a kind, one that lies on it, and the share of a pixel that the upper takes.

    `across`, `up` count the map's cells to the place x, y.
    """
    under, over, share = BEYOND, BEYOND, 1.0
    for k in range(len(kinds)):
        edge = read_map(inside, k, across, up, -_FAR)
        if over == LAWN and abs(edge) < _RAGGED and _covers_turf(kinds[k]):
            edge += _RAGGED * grain_at(x, y, 0.05, 0.5 * pixel, 51)
        part = min(max(0.5 + edge / pixel, 0.0), 1.0)
        if part > 0.0:
            under, over, share = over, kinds[k], part
    return under, over, share


@compiled
def _covers_turf(kind: int) -> bool:
    return kind in (MULCH, SOIL)
