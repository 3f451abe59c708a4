"""The way water runs over a surface: lines down its steepest fall, in any direction."""

from __future__ import annotations

import numpy as np

from terrain.grid import Array, Grid

STEP = 0.5  # cells: from one point of a line to the next
FLAT = 1e-4  # rise over run: ground as level as this sends water nowhere in particular
TURN = 0.5  # cosine: where the fall turns more than this from one step to the next the line has met a low


def flow_lines(grid: Grid, elevation: Array, starts: Array, reach: float, still: Array) -> list[Array]:
    """Lines down the steepest fall of a surface.

    Parameters
    ----------
    grid, elevation
        The surface, (ny, nx) in metres, linear between its nodes.
    starts
        (n, 2) places in metres.
    reach
        Length in metres after which a line ends.
    still
        (ny, nx), 1 where water stands: a line ends at its edge.

    Returns
    -------
    list
        For each start (m, 2) places in metres, from it on, the fall followed by the midpoint rule; a line ends on level
        ground, where it meets a low, at standing water and at the edge of the grid.
    """
    rise_north, rise_east = (np.asarray(part) for part in np.gradient(elevation, grid.cell))
    step = STEP * grid.cell

    def falls(places: Array) -> tuple[Array, Array]:
        down = -np.column_stack([grid.sample(rise_east, places), grid.sample(rise_north, places)])
        slope = np.hypot(*down.T)
        return down / np.maximum(slope, 1e-12)[:, None], slope

    places = np.asarray(starts, dtype=float)
    tracks, alive = [places], np.ones(len(places), dtype=bool)
    before: Array | None = None
    lengths = np.ones(len(places), dtype=int)
    for _ in range(int(reach / step)):
        way, slope = falls(places)
        middle, _ = falls(places + 0.5 * step * way)
        ahead = places + step * middle
        inside = (ahead[:, 0] > grid.x[0]) & (ahead[:, 0] < grid.x[-1]) & (ahead[:, 1] > grid.y[0])
        alive &= (slope > FLAT) & inside & (ahead[:, 1] < grid.y[-1])
        alive &= grid.sample(still, places) < 0.5
        if before is not None:
            alive &= (middle * before).sum(axis=1) > TURN
        if not alive.any():
            break
        before = middle
        places = np.where(alive[:, None], ahead, places)
        tracks.append(places)
        lengths += alive
    stacked = np.stack(tracks)
    return [stacked[:count, k] for k, count in enumerate(lengths.tolist())]
