"""What the earthwork stage answers: volumes by measure, layers, import, loads and ranges, SI units."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from terrain.expect import expect, expect_finite_fields, expect_made_for
from terrain.grid import Array
from terrain.site.model import Site

Moves = Literal["arrives", "stays", "leaves"]


@dataclass(frozen=True)
class Layer:
    """One soil or cover on the job.

    `bank`, `loose` and `placed` are its volume in each measure, m3; None where the measure has no meaning for it (mulch
    has no bank). `moves` says whether it arrives on the site, stays there or leaves it.
    """

    name: str
    moves: Moves
    loose: float
    bank: float | None = None
    placed: float | None = None


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
class EndAreas:
    """Stations in metres along the berm's long axis and the fill area in m2 of the section at each."""

    stations: Array
    areas: Array
    origin: tuple[float, float]
    direction: tuple[float, float]


@dataclass(frozen=True)
class Earthwork:
    """Quantities of one proposal.

    All volumes in m3; `_low` and `_high` bound the central 90 % range. Placed: settled in the finished mound;
    bank: in its natural bed; loose: as it lies in the truck or the barrow.

    Parameters
    ----------
    fill_placed, cut_bank
        Fill between stripped ground and finished grade, placed; cut from basins and channels, bank.
    cut_below_sod, cut_checks
        The part of the cut that lies under the sod and can serve as fill; the whole cut three ways.
    sod, mulch
        Sod stripped (bank) and mulch laid after (as laid).
    import_loose
        Soil to order, loose: fill with shrink, swell and settlement, less what the cut gives back.
    export_loose
        Soil of the site that leaves, loose: more than the mound takes, or unfit to use. Sod is not counted in.
    day_one_factor
        Height to build on day one per unit of finished height, so that the settled surface is the design.
    trucks, barrows
        Whole loads; None where the site file names no truck or barrow.
    cost
        Cost of the imported soil in the user's money; None without a price.
    bed_area, worked_area
        Area inside the outline, and of it the area that is stripped and filled, m2.
    balance_loose
        Soil missing, loose m3, or, negative, soil of the site that is left over: what the range of the import is about.
    planting_placed
        The uppermost layer of the finished fill that is planting soil, m3; 0.0 with one soil throughout.
    mulch_area
        Area that mulch covers, m2: the worked area less the flares and a rim round them.
    layers
        Every soil and cover on the job, in each measure.
    fill_shares, import_shares, cut_shares
        What makes the fill, the import and the cut unsure, and how much of the range each cause has.
    made_for
        Fingerprint of the yard and its layers that were measured; "": made by hand.
    """

    fill_placed: float
    fill_placed_low: float
    fill_placed_high: float
    cut_bank: float
    sod: float
    mulch: float
    import_loose: float
    import_loose_low: float
    import_loose_high: float
    export_loose: float
    day_one_factor: float
    trucks: int | None
    barrows: int | None
    cost: float | None
    bed_area: float
    worked_area: float
    checks: VolumeChecks
    end_areas: EndAreas
    cut_below_sod: float = 0.0
    cut_checks: VolumeChecks = VolumeChecks(0.0, 0.0, 0.0)
    balance_loose: float = 0.0
    planting_placed: float = 0.0
    mulch_area: float = 0.0
    layers: tuple[Layer, ...] = ()
    fill_shares: tuple[Share, ...] = ()
    import_shares: tuple[Share, ...] = ()
    cut_bank_low: float = 0.0
    cut_bank_high: float = 0.0
    cut_shares: tuple[Share, ...] = ()
    made_for: str = ""

    def __post_init__(self) -> None:
        expect_finite_fields("earthwork", self)


def check_work(call: str, site: Site, work: Earthwork) -> None:
    """Refuse an earthwork that was not measured for a site; `call` names the function that it was handed to."""
    expect(call, site=(site, Site), work=(work, Earthwork))
    expect_made_for(f"{call}: work", work.made_for, site.layers_print, "measure_earthwork")
