"""What the soil of the job is told in: volumes by measure, the ledger, and what makes them unsure; SI units."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from terrain.expect import expect, expect_finite_fields, expect_made_for
from terrain.site import Site

# Where the fill that an uncut toe takes is worked: deviations by which the true ground over the bed stands high.
TOE_AT = (-3.0, -2.0, -1.0, 0.0, 1.0, 2.0, 3.0)

Comes = Literal["bought", "on hand", "dug", "stripped"]
Goes = Literal["mound", "planting", "topsoil", "left over", "lost", "leaves"]


@dataclass(frozen=True)
class LedgerLine:
    """One line of the ledger: a soil of the job, where it comes from, where it goes.

    `bank`, `loose` and `placed` are the same soil in each measure, m3.
    """

    name: str
    comes: Comes
    goes: Goes
    bank: float
    loose: float
    placed: float


@dataclass(frozen=True)
class Share:
    """One cause of uncertainty: its standard deviation in m3, and where that figure comes from."""

    cause: str
    deviation: float
    source: str


@dataclass(frozen=True)
class VolumeChecks:
    """A volume in m3 three independent ways: grid nodes, signed volume of the solid, average end areas."""

    grid: float
    mesh: float
    sections: float


@dataclass(frozen=True)
class Laid:
    """What is bought for streams beside the soil: sheet and the cloth under it in m2, stone in kg, gravel in m3."""

    sheet: float = 0.0
    underlay: float = 0.0
    stone: float = 0.0
    gravel: float = 0.0


NOTHING_LAID = Laid()


@dataclass(frozen=True)
class Volumes:
    """What the surfaces of a proposal hold, before any soil factor: volumes in m3, areas in m2.

    Parameters
    ----------
    fill_placed
        Fill between stripped ground (sod off) and finished grade.
    worked_area, mulch_area
        Area that is stripped and filled, and the part of it that takes mulch: less the flares and a rim round them.
    rise
        The part of the fill that stands over existing grade: what settlement is allowed for.
    sod_in_bed, sod_on_digs
        Sod stripped in the worked area, and the sod that lies on basins, channels and trenches, bank.
    topsoil
        Topsoil stripped under the sod, kept and laid again, bank.
    cut_bank, cut_below_sod
        Ground taken away by digs and by finished grade under stripped ground, bank, the sod on digs with it; and what
        is dug as soil and no sod, that of the trenches with it.
    trench
        Ground dug for the base stones of retained edges, bank. They and their bedding fill it again, so that no surface
        shows it: `cut_bank` and this are the sod on digs and the soil dug.
    planting_placed
        The uppermost layer of the finished fill that is planting soil; 0.0 where one soil is used throughout.
    mulch, gravel
        Mulch on the worked ground and gravel on the floors of basins, as laid.
    fill_shares
        What makes the fill unsure, standard deviations in m3.
    toe
        Fill more than that, m3, where the true ground stands over finished grade and is not cut: expected, at each of
        `TOE_AT`. (): none anywhere.
    laid
        What streams are lined and covered with.
    """

    fill_placed: float
    worked_area: float
    mulch_area: float = 0.0
    rise: float = 0.0
    sod_in_bed: float = 0.0
    sod_on_digs: float = 0.0
    topsoil: float = 0.0
    cut_bank: float = 0.0
    cut_below_sod: float = 0.0
    trench: float = 0.0
    planting_placed: float = 0.0
    mulch: float = 0.0
    gravel: float = 0.0
    fill_shares: tuple[Share, ...] = ()
    toe: tuple[float, ...] = ()
    laid: Laid = NOTHING_LAID

    @property
    def sod(self) -> float:
        """All sod that is stripped, in the bed and on the digs, bank m3."""
        return self.sod_in_bed + self.sod_on_digs


@dataclass(frozen=True, kw_only=True, repr=False)
class Earthwork(Volumes):
    """The volumes of one proposal, measured three ways, with their ranges.

    All volumes in m3; `_low` and `_high` bound the central 90 % range. Placed: settled in the finished mound;
    bank: in its natural bed; loose: as it lies in the truck or the barrow.

    Parameters
    ----------
    day_one_factor
        Height over existing grade to build on day one per unit of finished height, so that the settled surface is the
        design.
    bed_area
        Area inside the outline, m2.
    checks, cut_checks
        The fill, and the whole cut, three ways.
    cut_shares
        What makes the cut unsure.
    made_for
        Fingerprint of the yard and its layers that were measured; "": made by hand.
    """

    fill_placed_low: float
    fill_placed_high: float
    day_one_factor: float
    bed_area: float
    checks: VolumeChecks
    cut_checks: VolumeChecks = VolumeChecks(0.0, 0.0, 0.0)
    cut_bank_low: float = 0.0
    cut_bank_high: float = 0.0
    cut_shares: tuple[Share, ...] = ()
    made_for: str = ""

    def __repr__(self) -> str:
        return f"<Earthwork: {self.fill_placed:.2f} m3 placed, {self.cut_bank:.2f} m3 cut, {self.sod:.2f} m3 of sod>"

    def __post_init__(self) -> None:
        expect_finite_fields("earthwork", self)


def check_work(call: str, site: Site, work: Earthwork) -> None:
    """Refuse an earthwork that was not measured for a site; `call` names the function that it was handed to."""
    expect(call, site=(site, Site), work=(work, Earthwork))
    expect_made_for(f"{call}: work", work.made_for, site.layers_print, "measure_earthwork")
