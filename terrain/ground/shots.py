"""Shots made ready for fitting: checked once, repeats merged, centred and scaled."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from terrain.errors import InputError
from terrain.expect import as_floats, expect_number
from terrain.grid import Array, frozen
from terrain.ground.line_doubt import LineDoubt

Rows = NDArray[np.intp]  # row numbers

MIN_SHOTS = 3  # a plane needs three
MOST_SHOTS = (
    2000  # more are averaged by cells for what takes all at once: that work grows with the cube of their number
)
DENSEST = 50_000  # shots that the surface goes through one by one; more are averaged by cells
_LINE_TOLERANCE = 1e-7  # width over length under which shots count as lying in one line
_SAME_PLACE = 1e-9  # share of the survey's size under which two shots stand in one place


@dataclass(frozen=True)
class LocalShots:
    """Shots in a frame of their own, so that large survey coordinates cost no digits.

    Parameters
    ----------
    places
        (n, 2), centred and divided by `scale`: dimensionless, of size about one.
    heights
        (n,), less the elevation of the plane through all shots' mean, in metres.
    error
        (n,) standard deviation of each height in metres: the stated accuracy, less where repeats were
        averaged.
    centre, scale, base
        Survey coordinates (metres) of the frame's origin, metres to one frame unit, metres of height zero.
    groups
        (N,) for each shot that came in, the row of `places` it went to; N > n where repeats were merged or
        cells averaged.
    all_places, all_heights
        (N, 2) and (N,): the shots that came in, in the frame.
    accuracy
        Standard deviation in metres of one shot.
    edges
        (e, 2) rows of `places` that breaklines join. The points of the breaklines are the last rows.
    lines
        What each breakline leaves open of the ground on it.
    """

    places: Array
    heights: Array
    error: Array
    centre: tuple[float, float]
    scale: float
    base: float
    groups: Rows
    all_places: Array
    all_heights: Array
    accuracy: float = 0.0
    edges: Rows = field(default_factory=lambda: np.empty((0, 2), dtype=np.intp))
    lines: tuple[LineDoubt, ...] = ()

    @property
    def free(self) -> int:
        """Rows that are shots off every breakline; the rows after them are the breaklines' points."""
        return int(self.edges.min()) if len(self.edges) else len(self.places)

    @property
    def thinned(self) -> bool:
        """Whether there were so many shots that they were averaged by cells."""
        return len(self.all_heights) > MOST_SHOTS

    def local(self, targets: Array) -> Array:
        """(m, 2) survey coordinates in metres, moved into the frame."""
        return np.asarray((targets - np.asarray(self.centre)) / self.scale, dtype=float)


def check_points(points: Array, where: str = "survey shots") -> Array:
    """Return (n, 3) shots as floats, or say in one message what is wrong with them.

    Raises
    ------
    InputError
        Where the array is not (n, 3), holds numbers that are not finite, has fewer than three shots, or all
        shots stand in one line.
    """
    accepted = "Accepted: (n, 3) rows of easting, northing, elevation in metres."
    shots = as_floats(where, points, accepted)
    if shots.ndim != 2 or shots.shape[1] != 3:
        raise InputError(
            where,
            f"an array of shape {shots.shape} arrived.",
            accepted,
        )
    bad = np.flatnonzero(~np.isfinite(shots).all(axis=1))
    if bad.size:
        raise InputError(where, f"row {bad[0] + 1} holds {shots[bad[0]].tolist()}.", "Accepted: finite numbers only.")
    if len(shots) < MIN_SHOTS:
        raise InputError(
            where,
            f"{len(shots)} shots cannot fix a surface.",
            "Accepted: three or more that do not stand in one line.",
        )
    _refuse_line(shots[:, :2], where)
    return shots


def _refuse_line(places: Array, where: str) -> None:
    """Raise where the second principal extent of the places vanishes beside the first."""
    extent = np.linalg.svd(places - places.mean(axis=0), compute_uv=False)
    if extent[1] <= _LINE_TOLERANCE * extent[0]:
        raise InputError(
            where,
            f"all {len(places)} shots stand in one line.",
            "Accepted: shots spread over the yard, at least one well off the line.",
        )


def local_shots(points: Array, accuracy: float) -> LocalShots:
    """Check (n, 3) shots in metres, merge those in one place (mean elevation), centre and scale them.

    `accuracy` is the standard deviation of one shot in metres. The scale is the root mean square distance
    from the centre, so the frame turns and grows with the survey. More than `MOST_SHOTS` shots are averaged
    by square cells, place and elevation alike, and each mean stands for one shot; `every_shot` has them one by one.
    Raises `InputError` as `check_points` does, and where the accuracy is not a length of zero or more.
    """
    shots = check_points(points)
    expect_number("accuracy", accuracy, 0.0)
    centre = shots[:, :2].mean(axis=0)
    spread = shots[:, :2] - centre
    scale = float(np.sqrt(np.mean(np.sum(spread**2, axis=1))))
    places = spread / scale
    groups = _same_places(places) if len(places) <= MOST_SHOTS else _same_cells(places, MOST_SHOTS)
    means, error = _averaged(places, shots[:, 2], groups, accuracy)
    base = float(np.mean(means[:, 2]))
    return LocalShots(
        places=frozen(means[:, :2]),
        heights=frozen(means[:, 2] - base),
        error=frozen(error),
        centre=(float(centre[0]), float(centre[1])),
        scale=scale,
        base=base,
        groups=frozen(groups),
        all_places=frozen(places),
        all_heights=frozen(shots[:, 2] - base),
        accuracy=accuracy,
    )


def every_shot(shots: LocalShots) -> tuple[Array, Array, Array]:
    """Places (n, 2), heights and errors (n,) of the shots one by one and then of the breaklines' points, in the frame.

    Shots in one place are averaged; so are, by cells, more than `DENSEST`. Shots on a breakline give way to it.
    """
    off = shots.groups < shots.free
    places, heights = shots.all_places[off], shots.all_heights[off]
    groups = _same_places(places) if len(places) <= DENSEST else _same_cells(places, DENSEST)
    means, error = _averaged(places, heights, groups, shots.accuracy)
    lines = slice(shots.free, None)
    return (
        np.vstack([means[:, :2], shots.places[lines]]),
        np.concatenate([means[:, 2], shots.heights[lines]]),
        np.concatenate([error, shots.error[lines]]),
    )


def _averaged(places: Array, heights: Array, groups: Rows, accuracy: float) -> tuple[Array, Array]:
    """Mean place and height (n, 3) of each group, and the standard deviation (n,) that the mean height has."""
    count = np.bincount(groups)
    means = [np.bincount(groups, weights=column) / count for column in (*places.T, heights)]
    return np.column_stack(means), accuracy / np.sqrt(count)


def _same_cells(places: Array, most: int) -> Rows:
    """Row number of each shot's cell, of square cells so large that at most `most` hold shots."""
    low, high = places.min(axis=0), places.max(axis=0)
    side = float(np.sqrt(np.prod(high - low) / most)) / 2.0
    while True:
        column, row = np.floor((places - low) / side).astype(np.intp).T
        kinds, groups = np.unique(row * (column.max() + 1) + column, return_inverse=True)
        if len(kinds) <= most:
            return np.asarray(groups)
        side *= 1.1


def _same_places(places: Array) -> Rows:
    """Row number of each shot's place, counting places in the order in which they first appear."""
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components
    from scipy.spatial import cKDTree

    n = len(places)
    pairs = cKDTree(places).query_pairs(_SAME_PLACE, output_type="ndarray")
    links = coo_array((np.ones(len(pairs)), (pairs[:, 0], pairs[:, 1])), shape=(n, n))
    labels = connected_components(links, directed=False)[1]
    _, first, inverse = np.unique(labels, return_index=True, return_inverse=True)
    rank = np.empty(len(first), dtype=np.intp)
    rank[np.argsort(first)] = np.arange(len(first))
    return np.asarray(rank[inverse])
