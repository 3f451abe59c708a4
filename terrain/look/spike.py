"""The spike: a corner of the bed drawn out alone into a point."""

from __future__ import annotations

import numpy as np
import shapely

from terrain.look.model import Measure
from terrain.look.mound import Mound

ROOM = 0.22  # a part of the bed narrower than twice this share of its half width is no room for a mound
ARC = 16  # corners of a quarter circle


def spike(mound: Mound) -> Measure:
    """How far the sharpest corner of the bed reaches past the ground where a mound has room, over its half width.

    A square corner comes to 0.1, one of 45 degrees to 0.35, one of 20 degrees to 1.05.
    """
    outline = mound.bed
    half = float(shapely.maximum_inscribed_circle(outline).length)
    room = outline.buffer(-ROOM * half, quad_segs=ARC).buffer(ROOM * half, quad_segs=ARC)
    corners = shapely.get_coordinates(outline)
    if room.is_empty or half <= 0.0:
        return Measure(0.0, None)
    beyond = shapely.distance(room, shapely.points(corners)) / half
    worst = int(np.argmax(beyond > beyond.max() - 1e-6))  # of corners that are alike the first, wherever the yard lies
    return Measure(float(beyond[worst]), (float(corners[worst, 0]), float(corners[worst, 1])))
