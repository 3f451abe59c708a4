"""Banks of streams raised out of the mound: on a face the ground falls away beside the bed."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from terrain.grid import Array
from terrain.ground import Ground
from terrain.limits import BANK_LOW
from terrain.numerics import limit_surface
from terrain.shape.prepared import Prepared, limit_rise, window_of
from terrain.shape.streams import low_banks
from terrain.shape.terraces import SKIRT_SHARE
from terrain.shape.turn_pools import pooled
from terrain.site import Site


def raised_banks(site: Site, ground: Ground, prepared: Prepared, fill: Array, limit: Array) -> Array | None:
    """The surface that the banks of the streams ask of the mound.

    Parameters
    ----------
    site, ground, prepared
        The yard.
    fill, limit
        (ny, nx) fill of the mound without them, and its limit surface, metres.

    Returns
    -------
    array or None
        (wy, wx) elevation on the nodes of the window, -inf where nothing is asked, metres: level over the banks' tops,
        run out at a share of the slope limit, under the limit surface. None where all banks stand as they are.
    """
    finished = replace(ground, elevation=ground.elevation + fill)
    most = replace(ground, elevation=np.maximum(limit, finished.elevation))
    asked = np.vstack([low_banks(pooled(stream, prepared.layout.digs), finished, most) for stream in site.stream])
    stands = ground.grid.sample(finished.elevation, asked[:, :2])
    if not len(asked) or (asked[:, 2] - stands).max() <= BANK_LOW.value:
        return None
    window, layout = window_of(prepared.layout), prepared.layout
    column, row = ((asked[:, :2] - (window.x[0], window.y[0])) / window.cell).T
    # Cones that open upwards from what lies under the nodes, as the limit surface knows them: banks turned over.
    under = np.full(window.shape, np.inf)
    for east in (np.floor(column), np.floor(column) + 1.0):
        for north in (np.floor(row), np.floor(row) + 1.0):
            inside = (east >= 0) & (east < window.nx) & (north >= 0) & (north < window.ny)
            at = north[inside].astype(int), east[inside].astype(int)
            np.minimum.at(under, at, -asked[inside, 2])
    rise = SKIRT_SHARE * limit_rise(site, window.cell)
    surface = -limit_surface(under, layout.reach, np.empty((0, 3)), rise)
    return np.asarray(np.minimum(surface, prepared.limit))
