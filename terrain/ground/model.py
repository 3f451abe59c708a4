"""The existing grade: what every later stage reads of the ground."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from shapely.geometry import Polygon, box

from terrain.errors import InputError
from terrain.expect import expect, expect_array, expect_made_for, expect_never_negative, expect_number
from terrain.fingerprint import Comparable
from terrain.grid import Array, Grid, Mask
from terrain.site import Site

_SHOTS_LOOKED_AT = 500
# A surface that misses half of its own shots by more than this and a quarter of their span is in another unit or datum:
# common practice, no published source.
_FAR_OFF = 1.0  # metres


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
class Gap:
    """The widest circle about a place in the bed in which no shot stands: its width and middle, metres."""

    width: float
    at: tuple[float, float]


@dataclass(frozen=True)
class ReadAgain:
    """A shot worth reading again before others.

    `residual` is shot minus the surface through the others, metres; `odds` those of its being a blunder, to its being
    none; `change` by how much the bed's mean elevation rises without it, metres; `heeded` is False where the surface
    goes without it already.
    """

    name: str
    at: tuple[float, float]
    residual: float
    odds: float
    change: float
    heeded: bool


@dataclass(frozen=True, eq=False)
class GroundCheck(Comparable):
    """How the surface was chosen and how far it may be trusted.

    `method` is the chosen one; `errors` maps every method tried to its leave-one-out RMS error in metres over
    the shots that stay inside the hull of the others; `rms` is the chosen method's; `shots` counts the shots
    used; `again` are the likeliest blunders, the likeliest first, whether or not they are called doubtful.
    """

    method: str
    errors: Mapping[str, float]
    rms: float
    shots: int
    doubtful: tuple[DoubtfulShot, ...] = ()
    again: tuple[ReadAgain, ...] = ()


@dataclass(frozen=True, eq=False, repr=False)
class Ground(Comparable):
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
    made_for
        Fingerprint of the survey that it was made of; "": made by hand.
    gap
        Where the bed lies farthest from every shot; None: not asked.
    """

    grid: Grid
    elevation: Array
    deviation: Array
    surveyed: Mask
    hull: Polygon
    check: GroundCheck
    mean_deviation: float = 0.0
    notes: tuple[str, ...] = field(default=())
    made_for: str = ""
    gap: Gap | None = None

    def __repr__(self) -> str:
        grid = f"{self.grid.nx} x {self.grid.ny} nodes {self.grid.cell:.3g} m apart"
        return f"<Ground: {grid}, {self.check.method}, {self.check.shots} shots missed by {self.check.rms:.3f} m rms>"

    def __post_init__(self) -> None:
        expect("ground", grid=(self.grid, Grid))
        expect_array("ground elevation", self.elevation, self.grid.shape)
        expect_array("ground deviation", self.deviation, self.grid.shape)
        expect_never_negative("ground deviation", self.deviation)
        expect_array("ground surveyed", self.surveyed, self.grid.shape, np.bool_)
        expect_number("ground mean_deviation", self.mean_deviation, 0.0)


def check_ground(call: str, site: Site, ground: Ground) -> None:
    """Refuse a ground that is not that of a site; `call` names the function that it was handed to.

    Raises
    ------
    InputError
        For other types, a ground of another survey, one in another unit or datum than the shots, and one whose grid
        does not reach the bed.
    """
    expect(call, site=(site, Site), ground=(ground, Ground))
    expect_made_for(f"{call}: ground", ground.made_for, site.survey_print, "model_ground")
    grid = ground.grid
    if not box(grid.x[0], grid.y[0], grid.x[-1], grid.y[-1]).intersects(site.bed.outline):
        raise InputError(f"{call}: ground", "its grid does not reach the bed.", "Accepted: the ground of this site.")
    if ground.made_for:
        _expect_near_shots(call, site, ground)


def _expect_near_shots(call: str, site: Site, ground: Ground) -> None:
    shots = site.survey.shots[:: 1 + len(site.survey.shots) // _SHOTS_LOOKED_AT]
    off = float(np.median(np.abs(ground.grid.sample(ground.elevation, shots[:, :2]) - shots[:, 2])))
    if off > _FAR_OFF + 0.25 * float(np.ptp(shots[:, 2])):
        raise InputError(
            f"{call}: ground",
            f"half of the shots lie more than {off:.1f} m off it.",
            "Accepted: elevations in metres, in the datum of the shots.",
        )
