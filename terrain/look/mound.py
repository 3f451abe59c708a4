"""The mound on a raster of its own: about the same number of nodes whatever the yard's cell, so that every sign
costs the same and means the same on any grid.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely
from scipy import ndimage
from shapely.geometry import Polygon

from terrain.grid import Array, Grid, Mask
from terrain.look.eye import Eye, seen
from terrain.numerics import deepest_inside, distance_inside

NODES = 9000  # nodes inside the mound's edge: about 107 across a round one
RASTER = 120_000  # most nodes of the whole raster, where piles stand far apart
EDGE = 0.005  # the mound ends where its fill falls below this share of its height
AVERAGED = 0.4  # width of the bell curve that averages fine cells, in steps
MARGIN = 0.3  # ground kept round the mound, as a share of the radius of a circle of its area
BAY = 0.1  # bays narrower than twice this share of the radius of a circle of its area belong to the mound
SHARP, FINE = 0.02, 0.04  # smoothing widths as shares of the half width
COARSE = 0.14  # another, as a share of what of it the eye sees: wide enough that spade marks bend no face


@dataclass(frozen=True)
class Derivatives:
    """Slopes and second derivatives of a smoothed surface, each (ny, nx), rise/run and 1/m."""

    east: Array
    north: Array
    east_east: Array
    east_north: Array
    north_north: Array

    @cached_property
    def slope(self) -> Array:
        """Steepness, rise/run."""
        return np.hypot(self.east, self.north)

    @cached_property
    def fall_line_bend(self) -> Array:
        """Second derivative along the fall line, 1/m; 0.0 where the ground is level."""
        bend = (
            self.east_east * self.east**2
            + 2.0 * self.east_north * self.east * self.north
            + self.north_north * self.north**2
        )
        return _over(bend, self.slope**2)

    @cached_property
    def contour_bend(self) -> Array:
        """Curvature of the contour through each node, 1/m; 0.0 where the ground is level."""
        bend = (
            self.east_east * self.north**2
            - 2.0 * self.east_north * self.east * self.north
            + self.north_north * self.east**2
        )
        return _over(bend, self.slope**3)


def _over(top: Array, bottom: Array) -> Array:
    return np.divide(top, bottom, out=np.zeros_like(top), where=bottom > 0.0)


@dataclass(frozen=True)
class Mound:
    """Fill and ground on the mound's raster; node (j, i) stands `step` metres apart from its neighbours.

    `fill` (metres, not negative), `existing` (metres) and `body` (the mound itself) are (ny, nx), row 0 in the south.
    `at_border` marks the nodes on an edge of the yard's grid, beyond which nothing is known; `bed` is the bed's
    outline in survey coordinates, metres.
    """

    x0: float
    y0: float
    step: float
    fill: Array
    existing: Array
    body: Mask
    at_border: Mask
    bed: Polygon

    @cached_property
    def height(self) -> float:
        """Greatest fill, metres."""
        return float(self.fill[self.body].max())

    @cached_property
    def share(self) -> Array:
        """Fill as a share of the height."""
        return self.fill / self.height

    @cached_property
    def depth(self) -> Array:
        """Distance in metres from each node of the mound to its edge, 0.0 outside."""
        return self.step * distance_inside(self.body)

    @cached_property
    def half_width(self) -> float:
        """Radius of the largest circle inside the mound's edge, metres."""
        return float(self.depth.max())

    @cached_property
    def places(self) -> tuple[Array, Array]:
        """Easting and northing of every node less those of the south-west node, metres."""
        ny, nx = self.fill.shape
        east, north = np.meshgrid(self.step * np.arange(nx), self.step * np.arange(ny))
        return east, north

    @cached_property
    def middle(self) -> tuple[float, float]:
        """Centroid of the fill, metres from the south-west node."""
        weight = self.fill * self.body
        east, north = self.places
        total = float(weight.sum())
        return float((weight * east).sum()) / total, float((weight * north).sum()) / total

    @cached_property
    def spread(self) -> tuple[float, float, float]:
        """Root mean square spread of the fill along and across its long axis (metres), and that axis (radians)."""
        east, north = (p[self.body] - m for p, m in zip(self.places, self.middle, strict=True))
        spread = np.cov(np.vstack([east, north]), aweights=self.fill[self.body], ddof=0)
        size, way = np.linalg.eigh(spread)
        return float(np.sqrt(size[1])), float(np.sqrt(size[0])), float(np.arctan2(way[1, 1], way[0, 1]))

    @cached_property
    def sharp(self) -> Derivatives:
        """Derivatives of the fill, hardly smoothed: level ground between slopes."""
        return _derivatives(self._smoothed(SHARP), self.step)

    @cached_property
    def fine(self) -> Derivatives:
        """Derivatives of the fill, lightly smoothed: what happens at an edge."""
        return _derivatives(self.smooth, self.step)

    @cached_property
    def coarse(self) -> Derivatives:
        """Derivatives of the fill, smoothed more: how a face runs as a whole."""
        return _derivatives(smoothed(self.fill, COARSE * self.seen_half_width / self.step), self.step)

    @cached_property
    def face_slope(self) -> float:
        """Slope of the sides, rise/run (`steepness`)."""
        return self.steepness(self.fine)

    def steepness(self, surface: Derivatives) -> float:
        """Mean slope on the mound, each node weighted by its slope squared: level ground has no weight in it."""
        slope = surface.slope[self.body]
        return float((slope**3).sum() / (slope**2).sum())

    @cached_property
    def eye(self) -> Eye:
        """The fill as the eye takes it in."""
        return seen(self.x0, self.y0, self.step, self.fill)

    @cached_property
    def seen_half_width(self) -> float:
        """Radius of the largest circle in the mound as the eye takes it in, metres.

        That in the mound's edge can double where spade marks lift its thin fringe.
        """
        return self.eye.step * float(self.eye.depth.max())

    @cached_property
    def smooth(self) -> Array:
        """The fill, lightly smoothed, metres."""
        return self._smoothed(FINE)

    def _smoothed(self, width: float) -> Array:
        return smoothed(self.fill, width * self.half_width / self.step)

    def fill_at(self, east: Array, north: Array) -> Array:
        """Fill in metres at places given in metres from the south-west node; 0.0 off the raster."""
        nodes = [north / self.step, east / self.step]
        found: Array = ndimage.map_coordinates(self.fill, nodes, order=1, mode="constant")
        return found

    def place(self, node: tuple[int, int]) -> tuple[float, float]:
        """Survey coordinates in metres of node (j, i)."""
        return float(self.x0 + self.step * node[1]), float(self.y0 + self.step * node[0])

    def strongest(self, score: Array) -> tuple[float, float]:
        """Survey coordinates of the node with the greatest score."""
        j, i = np.unravel_index(int(np.argmax(score)), score.shape)
        return self.place((int(j), int(i)))

    def deepest(self, part: Mask) -> tuple[float, float] | None:
        """Survey coordinates of the node farthest inside a part of the mound; None where the part is empty.

        Among nodes that are about as deep, one near the part's middle is taken.
        """
        node = deepest_inside(part)
        return None if node is None else self.place(node)


def smoothed(values: Array, width: float, reach: float = 3.0) -> Array:
    """Values averaged under a bell curve of `width` nodes, cut off at `reach` widths."""
    smooth: Array = ndimage.gaussian_filter(values, width, mode="nearest", truncate=reach)
    return smooth


def _derivatives(surface: Array, step: float) -> Derivatives:
    north, east = (np.gradient(surface, step, axis=axis) for axis in (0, 1))
    east_east, east_north = (np.gradient(east, step, axis=axis) for axis in (1, 0))
    return Derivatives(east, north, east_east, east_north, np.gradient(north, step, axis=0))


def read_mound(grid: Grid, existing: Array, proposed: Array, outline: Polygon) -> Mound | None:
    """The mound that stands in the outline, or None where there is no fill.

    Only fill counts; cut is not part of a mound. Piles whose top stands outside the outline are left out,
    unless all do.
    """
    fill = np.maximum(proposed - existing, 0.0)
    height = float(fill.max())
    # Elevations carry rounding of about 1e-16 of themselves; anything below a millionth of a cell is no soil.
    if height <= 1e-6 * grid.cell:
        return None
    raw = fill > EDGE * height
    rows, columns = _window(raw)
    window = (rows.stop - rows.start) * (columns.stop - columns.start)
    ratio = float(np.sqrt(max(raw.sum() / NODES, window / RASTER)))
    step = ratio * grid.cell
    fine = np.maximum(_resampled(fill[rows, columns], ratio), 0.0)
    at_border = np.zeros(fine.shape, dtype=bool)
    at_border[0], at_border[-1] = rows.start == 0, rows.stop == grid.ny
    at_border[:, 0] |= columns.start == 0
    at_border[:, -1] |= columns.stop == grid.nx
    x0, y0 = grid.x0 + columns.start * grid.cell, grid.y0 + rows.start * grid.cell
    body = _in_outline(_closed(fine > EDGE * float(fine.max())), fine, (x0, y0, step), outline)
    ground = _resampled(existing[rows, columns], ratio)
    return Mound(x0, y0, step, np.where(body, fine, 0.0), ground, body, at_border, outline)


def _window(raw: Mask) -> tuple[slice, slice]:
    """Rows and columns that hold the marked nodes and some ground round them."""
    margin = int(np.ceil(MARGIN * np.sqrt(raw.sum() / np.pi))) + 1
    held = (np.flatnonzero(raw.any(axis=axis)) for axis in (1, 0))
    rows, columns = (
        slice(max(int(line[0]) - margin, 0), min(int(line[-1]) + margin + 1, size))
        for line, size in zip(held, raw.shape, strict=True)
    )
    return rows, columns


def _resampled(values: Array, ratio: float) -> Array:
    """Values on a raster whose step is `ratio` cells, from the same south-west node, within the same extent.

    Many cells to a step are averaged; few cells to a step are joined by cubics, whose bends are no facets.
    """
    ny, nx = (int((n - 1) / ratio) + 1 for n in values.shape)
    rows, columns = np.meshgrid(ratio * np.arange(ny), ratio * np.arange(nx), indexing="ij")
    places = [rows, columns]
    if ratio > 1.5:
        averaged: Array = ndimage.map_coordinates(smoothed(values, AVERAGED * ratio, reach=2.5), places, order=1)
        return averaged
    joined: Array = ndimage.map_coordinates(values, places, order=3, mode="nearest")
    # A cubic rings beside a cliff; where none of the four nodes around holds soil there is none.
    return np.where(ndimage.map_coordinates(values, places, order=1) == 0.0, 0.0, joined)


def _closed(body: Mask) -> Mask:
    """The body with narrow bays and small holes closed: broken ground at the edge does not make a mound narrow."""
    reach = BAY * np.sqrt(body.sum() / np.pi)
    near = ndimage.distance_transform_edt(~np.pad(body, int(reach) + 2)) < reach
    inner = ndimage.distance_transform_edt(near) >= reach
    pad = int(reach) + 2
    closed: Mask = body | inner[pad:-pad, pad:-pad]
    return closed


def _in_outline(body: Mask, fill: Array, frame: tuple[float, float, float], outline: Polygon) -> Mask:
    piles, count = ndimage.label(body, structure=np.ones((3, 3)))
    if count <= 1:
        return body
    tops = np.array(ndimage.maximum_position(fill, piles, np.arange(1, count + 1)))
    x0, y0, step = frame
    inside = shapely.contains_xy(outline, x0 + step * tops[:, 1], y0 + step * tops[:, 0])
    if not inside.any():
        return body
    kept: Mask = np.concatenate([[False], inside])[piles]
    return kept
