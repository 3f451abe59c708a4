"""Signs seen at the toe and the top: a sharp toe, a sharp peak, a mound too tall for its width."""

from __future__ import annotations

import numpy as np
from scipy import ndimage

from terrain.look.model import Measure
from terrain.look.mound import Mound

TOE_BAND = (0.02, 0.065)  # distance inside the edge where the toe's slope is read, in half widths
PEAK_RINGS = (0.15, 0.25, 0.4)  # distances from the highest point where the fall is read, in half widths
DIRECTIONS = 32


def sharp_toe(mound: Mound) -> Measure:
    """Slope just inside the edge over the slope of the steeper sides: the middle value round the edge."""
    depth = mound.depth / mound.half_width
    rim = ndimage.binary_dilation(mound.at_border, iterations=max(int(0.15 * mound.half_width / mound.step), 1))
    band = mound.body & (depth > TOE_BAND[0]) & (depth < TOE_BAND[1]) & ~rim
    if not band.any():
        return Measure(0.0, None)
    ratio = np.where(band, mound.sharp.slope, 0.0) / mound.face_slope
    return Measure(float(np.median(ratio[band])), mound.strongest(ratio))


def sharp_peak(mound: Mound) -> Measure:
    """Least fall from the highest point, in any direction over any of three short ways, over the slope of the sides.

    A cone falls at full slope at once and every way; a rounded top starts level, and a ridge is level one way.
    """
    j, i = np.unravel_index(int(np.argmax(mound.smooth)), mound.smooth.shape)
    way = np.linspace(0.0, 2.0 * np.pi, DIRECTIONS + 1)[:-1]
    reach = np.array(PEAK_RINGS)[:, None] * mound.half_width
    rows, columns = j + reach * np.sin(way) / mound.step, i + reach * np.cos(way) / mound.step
    around = ndimage.map_coordinates(mound.smooth, [rows, columns], order=1, mode="constant")
    fall = (mound.smooth[j, i] - around) / (reach * mound.face_slope)
    return Measure(max(float(fall.min()), 0.0), mound.place((int(j), int(i))))


def too_tall(mound: Mound) -> Measure:
    """Height over the width across."""
    return Measure(mound.height / (2.0 * mound.half_width), mound.strongest(mound.fill))
