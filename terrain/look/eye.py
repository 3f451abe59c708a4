"""The mound as the eye takes it in: smoothed to about a foot, so that spade marks neither make nor break a verdict."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from scipy import ndimage

from terrain.grid import Array, Mask
from terrain.numerics import distance_inside

# Widths of the bell curves as shares of the square root of the mound's area: about 1 ft on the mound of a small front
# yard (20 m2), and growing with it, as the eye stands back. Best of four that were tried on labelled shapes; ripples
# are finer than that, and are looked for on the light copy.
EYE, LIGHT = 0.07, 0.022
ACROSS = 36.0  # steps along the square root of the area
FOOT = 0.12  # the mound as the eye takes it in stands above this share of its height


@dataclass(frozen=True)
class Eye:
    """Fill on a raster of `step` metres from the place (`x0`, `y0`); row 0 in the south.

    `fill` is smoothed to the eye's scale, `light` hardly; both in metres, (ny, nx), 0.0 where no mound stands.
    """

    x0: float
    y0: float
    step: float
    fill: Array
    light: Array

    @cached_property
    def height(self) -> float:
        """Greatest smoothed fill, metres."""
        return float(self.fill.max())

    @cached_property
    def body(self) -> Mask:
        """The largest connected part above FOOT of the height, its holes filled."""
        parts, count = ndimage.label(self.fill > FOOT * self.height)
        largest = 1 + int(np.argmax(ndimage.sum_labels(self.fill, parts, np.arange(1, count + 1))))
        body: Mask = ndimage.binary_fill_holes(parts == largest)
        return body

    @cached_property
    def depth(self) -> Array:
        """Distance in steps from each node of the body to its edge, 0.0 outside."""
        return distance_inside(self.body)

    @cached_property
    def nodes(self) -> Array:
        """(n, 2) column and row of the body's nodes."""
        rows, columns = np.nonzero(self.body)
        return np.column_stack([columns, rows]).astype(float)

    @cached_property
    def middle(self) -> Array:
        """(2,) column and row of the middle of the body's fill."""
        weight = self.fill[self.body]
        middle: Array = (weight[:, None] * self.nodes).sum(axis=0) / weight.sum()
        return middle

    def at(self, nodes: Array, surface: Array | None = None) -> Array:
        """Fill in metres at (..., 2) columns and rows; 0.0 off the raster."""
        found: Array = ndimage.map_coordinates(
            self.fill if surface is None else surface, [nodes[..., 1], nodes[..., 0]], order=1, mode="constant"
        )
        return found

    def place(self, node: Array) -> tuple[float, float]:
        """Survey coordinates in metres of a column and row."""
        return float(self.x0 + self.step * node[0]), float(self.y0 + self.step * node[1])


def seen(x0: float, y0: float, step: float, fill: Array) -> Eye:
    """The eye's copy of fill in metres on a raster of `step` metres from the place (x0, y0)."""
    area = float((ndimage.gaussian_filter(fill, 2.0) > FOOT * fill.max()).sum())  # in nodes
    ratio = max(np.sqrt(area) / ACROSS, 0.2)
    rows, columns = (np.arange(0.0, n - 1 + 1e-9, ratio) for n in fill.shape)
    places = np.meshgrid(rows, columns, indexing="ij")
    wide, light = (
        ndimage.map_coordinates(
            ndimage.gaussian_filter(fill, share * np.sqrt(area), mode="constant", truncate=3.0), places, order=1
        )
        for share in (EYE, LIGHT)
    )
    return Eye(x0, y0, step * ratio, wide, light)
