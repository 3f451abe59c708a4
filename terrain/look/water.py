"""The bowl: water that stands on the mound, or behind it, where none stood before."""

from __future__ import annotations

import numpy as np

from terrain.grid import Array
from terrain.look.model import Measure
from terrain.look.mound import Mound
from terrain.numerics import compiled


def holds_water(mound: Mound) -> Measure:
    """Depth of the deepest water that the mound makes, as a share of its height."""
    before = filled(mound.existing) - mound.existing
    finished = mound.existing + mound.fill
    water = filled(finished) - finished - before
    return Measure(max(float(water.max()), 0.0) / mound.height, mound.strongest(water))


def filled(ground: Array) -> Array:
    """Water surface in metres, (ny, nx), when every hollow is filled to its lowest way out over the raster's edge.

    Sweeps in turn from each corner, after Planchon and Darboux, "A fast, simple and versatile algorithm to fill
    the depressions of digital elevation models", Catena 46 (2001).
    """
    water: Array = _fill_by_sweeps(np.ascontiguousarray(ground, dtype=np.float64))
    return water


@compiled
def _fill_by_sweeps(ground: Array) -> Array:  # pragma: no cover - compiled
    ny, nx = ground.shape
    water = np.full((ny, nx), np.inf)
    water[0], water[-1] = ground[0], ground[-1]
    water[:, 0], water[:, -1] = ground[:, 0], ground[:, -1]
    changed = True
    sweep = 0
    while changed or sweep < 4:
        changed = False
        down, left = sweep & 1, sweep & 2
        for jj in range(1, ny - 1):
            j = ny - 1 - jj if down else jj
            for ii in range(1, nx - 1):
                i = nx - 1 - ii if left else ii
                if water[j, i] > ground[j, i]:
                    lowest = min(
                        min(min(water[j - 1, i], water[j + 1, i]), min(water[j, i - 1], water[j, i + 1])),
                        min(
                            min(water[j - 1, i - 1], water[j + 1, i + 1]),
                            min(water[j - 1, i + 1], water[j + 1, i - 1]),
                        ),
                    )
                    level = max(ground[j, i], lowest)
                    if level < water[j, i]:
                        water[j, i] = level
                        changed = True
        sweep += 1
    return water
