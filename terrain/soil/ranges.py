"""How sure the volumes are: what ground, sod and soil factors add to the range, combined in the open."""

from __future__ import annotations

import math
from collections.abc import Iterable

from terrain.grid import Array, Mask
from terrain.numerics import CENTRAL_90
from terrain.soil.model import Share

GROUND = "existing grade"

# Factors in doubt: what a reader calls them, the stem of their ends among the given figures, and whose range it is.
ENDS = (
    ("Swell", "swell", "Peurifoy, Construction Planning, Equipment, and Methods, Table 4-1"),
    ("Shrink", "shrink", "Moving the Earth: The Workbook of Excavation, p. 2.51"),
    ("Shrink of the site's own soil", "own", "Moving the Earth: The Workbook of Excavation, p. 2.51"),
    ("Settlement", "settling", "USDA-NRCS, Agriculture Handbook 590"),
    ("Soil lost on the way", "lost", "common practice, no published source"),
)


def combined_deviation(shares: Iterable[Share]) -> float:
    """Standard deviation of independent causes together: the root of the sum of squares, m3."""
    return math.sqrt(sum(share.deviation**2 for share in shares))


def central_range(volume: float, shares: Iterable[Share]) -> tuple[float, float]:
    """Low and high end in m3 of the central 90 % range about a volume; never below zero."""
    reach = CENTRAL_90 * combined_deviation(shares)
    return max(0.0, volume - reach), max(0.0, volume + reach)


def fill_shares(area: float, mean_deviation: float, sod_deviation: float) -> tuple[Share, ...]:
    """Causes that widen the placed fill, standard deviations in m3.

    Parameters
    ----------
    area
        Plan area that is stripped and filled, m2.
    mean_deviation
        Standard deviation of the mean elevation error of the existing grade over that area, metres. The crew
        builds to the finished grade, so this error times the area is the error of the fill.
    sod_deviation
        Standard deviation of the depth of sod stripped, metres.
    """
    return (
        Share(GROUND, mean_deviation * area, "the spread of the ground model over the bed"),
        Share("sod depth", sod_deviation * area, "common practice, no published source"),
    )


def cut_shares(deviation: Array, dug: Mask, cell_area: float) -> tuple[Share, ...]:
    """Causes that widen the cut, standard deviations in m3.

    Parameters
    ----------
    deviation, dug
        (ny, nx): standard deviation of the existing grade at each node, metres, and where ground is taken away.
    cell_area
        Of the grid, m2.

    Notes
    -----
    Digs are made to stated elevations, so the error of the ground over them is the error of the cut. Within a dig the
    errors are taken to go together, which is right for a small one and too wide for a long one.
    """
    return (Share(GROUND, float(deviation[dug].sum()) * cell_area, "the spread of the ground model over the digs"),)
