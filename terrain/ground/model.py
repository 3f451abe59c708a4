"""The existing grade: what every later stage reads of the ground."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from shapely.geometry import Polygon

from terrain.grid import Array, Grid, Mask


@dataclass(frozen=True)
class DoubtfulShot:
    """A shot that does not agree with its neighbours.

    `residual` is shot minus the surface through the others, in metres; `deviation` is the standard deviation
    that this difference may be expected to have; `text` says it in one sentence in the site's units.
    """

    name: str
    at: tuple[float, float]
    residual: float
    deviation: float
    text: str


@dataclass(frozen=True)
class GroundCheck:
    """How the surface was chosen and how far it may be trusted.

    `method` is the chosen one; `errors` maps every method tried to its leave-one-out RMS error in metres over
    the shots that stay inside the hull of the others; `rms` is the chosen method's; `shots` counts the shots
    used.
    """

    method: str
    errors: Mapping[str, float]
    rms: float
    shots: int
    doubtful: tuple[DoubtfulShot, ...] = ()


@dataclass(frozen=True)
class Ground:
    """Existing grade on a grid.

    Parameters
    ----------
    grid
        The grid over the yard.
    elevation, deviation
        (ny, nx) in metres: the surface and the standard deviation of its error at each node.
    surveyed
        (ny, nx): True where the node lies inside the hull of the shots.
    hull
        The hull of the shots, metres.
    check
        How the surface was chosen, which shots are doubtful.
    mean_deviation
        Standard deviation in metres of the mean elevation error over the bed, from the joint covariance (not
        cell by cell) and widened for the fitted covariance being uncertain: 1.645 times it is half the
        central 90 % range.
    notes
        What a reader must know of how the surface was made, one sentence each.
    """

    grid: Grid
    elevation: Array
    deviation: Array
    surveyed: Mask
    hull: Polygon
    check: GroundCheck
    mean_deviation: float = 0.0
    notes: tuple[str, ...] = field(default=())
