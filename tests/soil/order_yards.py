"""Sites of 50 m2 for what of them the order reads."""

from __future__ import annotations

import numpy as np
from shapely.geometry import box

from terrain.site.model import Bed, Berm, Site, Soil, Survey

BLOCK = box(0.0, 0.0, 10.0, 5.0)
LOAM = Soil(swell=0.25, shrink=0.10)


def a_site(bed: Bed | None = None, soil: Soil = LOAM, on_hand: float | None = None) -> Site:
    """A site around a bed of 50 m2, for what of it the order reads."""
    survey = Survey(np.array([(0, 0, 0), (20, 0, 0), (0, 20, 0)], dtype=float), ("1", "2", "3"), ("", "", ""))
    return Site("by hand", "m", survey, bed or Bed(BLOCK), Berm(0.25, (), soil=on_hand), soil=soil)
