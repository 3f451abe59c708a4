"""The proposed grade and what held it back."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from shapely.geometry import MultiPolygon, Polygon

from terrain.errors import InputError
from terrain.expect import expect, expect_array, expect_made_for, expect_never_negative, expect_number
from terrain.fingerprint import Comparable
from terrain.grid import Array, Grid, Mask
from terrain.ground import Ground, check_ground
from terrain.limits import CREST_SHORT
from terrain.numerics import YardMesh
from terrain.shape.digs import Dig
from terrain.shape.streams import StreamBed
from terrain.site import Site

_SAME = 1e-6  # metres: what rounding leaves of one surface worked out twice


@dataclass(frozen=True)
class BuiltCrest:
    """One crest point: height wished and height built over existing grade, metres, and what held it.

    `held_by` is "" where the point is not short.
    """

    at: tuple[float, float]
    wished: float
    built: float
    held_by: str

    @property
    def short(self) -> bool:
        """Whether it lacks more of the wish than a crew can build to: the one answer to that."""
        return self.wished - self.built > CREST_SHORT.value


@dataclass(frozen=True, eq=False, repr=False)
class Proposal(Comparable):
    """Proposed grade on the same grid as the ground.

    Parameters
    ----------
    grid
        The ground's grid.
    elevation, fill
        (ny, nx) in metres; fill is never negative and 0.0 exactly outside `worked`.
    cut
        (ny, nx) depth of basins and channels under existing grade, metres; elevation = existing + fill - cut.
    limit
        (ny, nx): the limit surface, the highest ground that the slope limit, the outline and the keep-offs allow.
    worked
        Geometry of the ground that may take fill: the bed less keep-offs and keep-clear areas, metres.
    bed
        (ny, nx): True at nodes inside `worked`.
    mesh
        The same surface as triangles that follow the outline and the keep-off circles exactly.
    crest
        Wish and result at each crest point.
    toe
        Width over which the toe eases into the ground, metres, as used.
    steepest
        Steepest facet of the finished ground where soil is placed, rise/run, on grid and mesh alike; where the
        existing ground itself is steeper than the limit the facet is left out here and counted in `existing_steepest`.
    existing_steepest
        Steepest facet of the existing ground inside the bed, rise/run.
    digs
        Basins, then channels, as dug.
    streams
        The beds of streams, as cut.
    before_streams
        (ny, nx) elevation before those were cut, metres; None where there are none: see `mound`.
    raised
        (ny, nx) fill that the banks of streams ask for beside what the form has, metres; None where they ask for none.
    height_scale
        Factor on the wished heights that was applied to meet the soil on hand (1.0 where none was stated).
    drawn_out
        Whether its one high point was drawn out along the bed.
    soil_left
        Loose soil on hand, m3, that the limits leave over (or that is missing, negative); near 0.0 where it was met.
    made_for
        Fingerprint of the yard that it was shaped for; "": made by hand.
    """

    grid: Grid
    elevation: Array
    fill: Array
    cut: Array
    limit: Array
    worked: Polygon | MultiPolygon
    bed: Mask
    mesh: YardMesh
    crest: tuple[BuiltCrest, ...]
    toe: float
    steepest: float
    existing_steepest: float
    digs: tuple[Dig, ...] = ()
    streams: tuple[StreamBed, ...] = ()
    before_streams: Array | None = None
    raised: Array | None = None
    height_scale: float = 1.0
    soil_left: float = 0.0
    drawn_out: bool = False
    made_for: str = ""

    @property
    def mound(self) -> Array:
        """(ny, nx) finished elevation without streams, metres: what the shape is judged by."""
        return self.elevation if self.before_streams is None else self.before_streams

    @property
    def all_digs(self) -> tuple[Dig, ...]:
        """Basins, channels and the beds of streams."""
        return (*self.digs, *(bed.dig for bed in self.streams))

    def __repr__(self) -> str:
        return (
            f"<Proposal: {self.fill.max():.2f} m of fill at most, steepest {self.steepest:.3f}, "
            f"{self.worked.area:.1f} m2 of bed>"
        )

    def __post_init__(self) -> None:
        expect("proposal", grid=(self.grid, Grid), worked=(self.worked, (Polygon, MultiPolygon)))
        for name in ("elevation", "fill", "cut", "limit"):
            expect_array(f"proposal {name}", getattr(self, name), self.grid.shape)
        for name in ("fill", "cut"):
            expect_never_negative(f"proposal {name}", getattr(self, name))
        expect_array("proposal bed", self.bed, self.grid.shape, np.bool_)
        for name in ("toe", "steepest", "existing_steepest", "height_scale"):
            expect_number(f"proposal {name}", getattr(self, name), 0.0)
        expect_number("proposal soil_left", self.soil_left)


def check_proposal(call: str, site: Site, ground: Ground, proposal: Proposal) -> None:
    """Refuse a proposal that is not that of a site on its ground; `call` names the function that it was handed to.

    Raises
    ------
    InputError
        For other types, a proposal for another yard, and one on another grid or over another ground.
    """
    check_ground(call, site, ground)
    expect(call, proposal=(proposal, Proposal))
    where = f"{call}: proposal"
    expect_made_for(where, proposal.made_for, site.yard_print, "shape_berm")
    if proposal.grid != ground.grid:
        raise InputError(where, "its grid is not that of the ground.", "Accepted: a proposal on this ground.")
    apart = float(np.abs(ground.elevation + proposal.fill - proposal.cut - proposal.elevation).max())
    if proposal.made_for and apart > _SAME:
        raise InputError(
            where,
            f"its elevation is up to {apart:.3g} m off the ground with its fill and cut.",
            "Accepted: a proposal on this ground, in metres.",
        )
