"""Easing: a local average that rounds crest and toe and cannot make a surface steeper."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from scipy import fft

from terrain.grid import Array


@dataclass(frozen=True)
class Easing:
    """Average over a disc with weights 1 - (distance/radius)^2, as a transform ready to apply to one grid shape.

    `kernel` is (2n+1, 2n+1), the weights themselves.

    An average of surfaces of slope at most s has slope at most s, so easing keeps the slope limit. What is averaged is
    the fill; it reaches no further than the radius beyond where fill lay.
    """

    shape: tuple[int, int]
    padded: tuple[int, int]
    transform: np.ndarray | None
    kernel: Array

    def apply(self, fill: Array) -> Array:
        """Averaged fill of shape (ny, nx), metres."""
        if self.transform is None:
            return fill
        spectrum = fft.rfft2(fill, self.padded)
        result: Array = fft.irfft2(spectrum * self.transform, self.padded)[: self.shape[0], : self.shape[1]]
        return result

    def at(self, fill: Array, row: int, column: int) -> float:
        """Averaged fill at one node, metres: for a few nodes far quicker than `apply`."""
        reach = len(self.kernel) // 2
        south, west = max(row - reach, 0), max(column - reach, 0)
        under = fill[south : row + reach + 1, west : column + reach + 1]
        first_row, first_column = south - row + reach, west - column + reach
        weights = self.kernel[first_row : first_row + under.shape[0], first_column : first_column + under.shape[1]]
        return float((weights * under).sum())


def easing(shape: tuple[int, int], cell: float, radius: float) -> Easing:
    """Prepare the average over `radius` metres for arrays of `shape` on cells of `cell` metres.

    A radius under one cell gives no easing. The caller sees to it that no fill lies within the radius of the array's
    rim (the transform is periodic beyond its padding).
    """
    reach = math.floor(radius / cell)
    if reach < 1:
        return Easing(shape, shape, None, np.ones((1, 1)))
    padded = (fft.next_fast_len(shape[0] + reach, True), fft.next_fast_len(shape[1] + reach, True))
    offset = np.arange(-reach, reach + 1) * cell
    weight = np.maximum(0.0, 1.0 - (offset[None, :] ** 2 + offset[:, None] ** 2) / radius**2)
    weight /= weight.sum()
    kernel = np.zeros(padded)
    kernel[: 2 * reach + 1, : 2 * reach + 1] = weight
    kernel = np.roll(kernel, (-reach, -reach), axis=(0, 1))
    return Easing(shape, padded, fft.rfft2(kernel), weight)
