"""Signs seen on the faces: one straight slope, and straight contours side by side."""

from __future__ import annotations

import numpy as np

from terrain.grid import Mask
from terrain.look.model import Measure
from terrain.look.mound import Mound

LEVEL = 0.25  # ground gentler than this share of the steeper slopes is crest or toe, not face
STRAIGHT = 0.5  # a slope that changes by less than this share over a half width is straight
STRAIGHT_CONTOUR = 0.15  # a contour that turns by less than this angle (radians) over a half length is straight


def face(mound: Mound) -> Mask:
    """The sides of the mound: inside its edge and neither crest nor toe."""
    return mound.body & (mound.coarse.slope > LEVEL * mound.steepness(mound.coarse))


def straight_faces(mound: Mound) -> Measure:
    """Share of the face that runs straight down the fall line."""
    side = face(mound)
    change = np.abs(mound.coarse.fall_line_bend) * mound.seen_half_width
    straight = side & (change < STRAIGHT * mound.coarse.slope)
    return Measure(float(straight.sum()) / max(int(side.sum()), 1), mound.deepest(straight))


def parallel_contours(mound: Mound) -> Measure:
    """Share of the face whose contours run straight, side by side."""
    side = face(mound)
    turning = np.abs(mound.coarse.contour_bend) * 2.0 * mound.spread[0]
    straight = side & (turning < STRAIGHT_CONTOUR)
    return Measure(float(straight.sum()) / max(int(side.sum()), 1), mound.deepest(straight))
