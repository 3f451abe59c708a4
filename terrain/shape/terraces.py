"""Terraces: level ground inside the bed, at a stated height or elevation, with edges that the easing rounds."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
import shapely

from terrain.grid import Array, Grid, frozen
from terrain.ground import Ground
from terrain.site import Site, Terrace

# Outside a terrace its soil runs out at this share of the slope limit, which keeps its edge firm and its face mowable.
SKIRT_SHARE = 0.9


def terrace_level(terrace: Terrace, ground: Ground) -> float:
    """Elevation of a terrace in metres: as stated, or its height over the mean existing grade along its outline."""
    if terrace.elevation is not None:
        return terrace.elevation
    along = shapely.get_coordinates(shapely.segmentize(terrace.outline.exterior, 0.1))
    return float(ground.grid.sample(ground.elevation, along).mean()) + (terrace.height or 0.0)


def with_terraces(wish: Array, base: Array, window: Grid, site: Site, ground: Ground) -> Array:
    """Wished fill with every terrace levelled into it.

    Inside a terrace the finished grade is its level, whatever the form wishes (never under the existing grade: a
    terrace is filled, not dug); around it the form is raised to a skirt that carries its edge.

    Parameters
    ----------
    wish, base
        (ny, nx) wished fill and the ground it stands on, metres, on the nodes of `window`.
    """
    for terrace in site.terrace:
        level = terrace_level(terrace, ground)
        away = _away_from(shapely.to_wkb(terrace.outline), window)
        skirt = level - SKIRT_SHARE * site.berm.max_slope * away - base
        wish = np.where(away > 0.0, np.maximum(wish, skirt), np.maximum(level - base, 0.0))
    return wish


@lru_cache(maxsize=8)
def _away_from(outline: bytes, window: Grid) -> Array:
    """(ny, nx) distance of the nodes from an outline, metres, 0.0 inside: worked out once for all heights."""
    distance: Array = shapely.distance(shapely.from_wkb(outline), shapely.points(window.nodes))
    return frozen(distance.reshape(window.shape))
