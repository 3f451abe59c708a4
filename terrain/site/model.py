"""The site: what was measured and what is wanted, in SI units, one frozen dataclass a table of the site file.

Field names are those of the site file, so that a `Site` built in Python reads the same. Each field also names
the way it is written there (`WrittenAs`); the values themselves are plain numbers, tuples and geometry.
"""

from __future__ import annotations

from dataclasses import dataclass, field, fields
from functools import cached_property
from pathlib import Path
from typing import Annotated, Literal

from terrain.errors import InputError
from terrain.fingerprint import Comparable, fingerprint
from terrain.site.crew import Crew
from terrain.site.drafting import Drafting
from terrain.site.factors import Placing, job_factors
from terrain.site.features import Basin, Channel, RetainedEdge, Terrace
from terrain.site.local import Local
from terrain.site.prices import Prices
from terrain.site.ranges import Checked
from terrain.site.storm import DesignStorm, Storm, design_storm
from terrain.site.streams import Stream, StreamWater
from terrain.site.survey import Survey
from terrain.site.things import Heap, Kind, Thing, Walk
from terrain.site.written import (
    NOT_WRITTEN,
    Chance,
    Count,
    Layer,
    Length,
    Money,
    Outline,
    Point,
    Price,
    Share,
    Size,
    Text,
    Time,
    UnitWeight,
    Volume,
    Weight,
    WholeShare,
    WrittenAs,
    YesNo,
)
from terrain.units import Units

Compass = Literal["north", "northeast", "east", "southeast", "south", "southwest", "west", "northwest"]


USUAL_SOIL = "loam"  # where the site file names no kind


@dataclass(frozen=True)
class Bed(Checked):
    """The bed and its layers.

    Parameters
    ----------
    outline
        Metres; may have holes.
    sod, mulch
        Stripped before filling, laid after; metres.
    topsoil
        Stripped under the sod over the whole worked area, kept on the site and laid again on top; metres.
    planting
        Depth of planting soil on top of the fill, metres; None: one soil throughout.
    sod_spread
        Half the width of the range that the depth of sod lies in, metres; None: as sod is cut by eye.
    sod_leaves
        True: stripped sod is hauled away. False: it is turned under.
    mulch_allowance
        Share ordered above the laid mulch, because mulch settles.
    """

    outline: Outline
    sod: Layer = 0.0
    mulch: Layer = 0.0
    topsoil: Layer = 0.0
    planting: Layer | None = None
    sod_leaves: YesNo = True
    sod_spread: Layer | None = field(default=None, metadata=NOT_WRITTEN)
    mulch_allowance: Share = 0.0


@dataclass(frozen=True)
class Allowed(Checked):
    """What somebody licensed has allowed in the root zone of one tree.

    Parameters
    ----------
    by, licence, date
        Who has allowed it, under which licence, and when ("2026-05-04").
    fill
        Deepest soil on day one, metres; None: nothing is said of soil.
    share
        Of the zone, filled, dug or stripped together; None: nothing is said of it.
    """

    by: Text
    licence: Text
    date: Annotated[str, WrittenAs("date")]
    fill: Annotated[float, WrittenAs("width")] | None = None
    share: WholeShare | None = None


@dataclass(frozen=True)
class Tree(Checked):
    """A standing tree; all lengths in metres, all radii about `at` (metres).

    Parameters
    ----------
    trunk
        Diameter at breast height. `check_site` works it out from `girth` or `stems` where one of those is stated.
    flare
        Radius of the root flare; 0.0 means not measured. `check_site` then takes the trunk's diameter as the flare's
        radius, or the stated keep-off where that is smaller: common practice, no published source.
    keep_off
        Radius that takes no fill and no cut; None: the root protection zone by `TreeRule` stands in.
    girth
        What a tape reads round the trunk.
    stems
        Diameters of a tree of several stems; the root zone rule says how they count as one.
    clear_of_flare
        The keep-off as a distance from the flare's edge; `check_site` turns it into `keep_off`.
    dripline
        Radius of the crown.
    species
        Kind of tree, which says how it takes raised grade; "" where nobody knows.
    allowed
        What an arborist has allowed for this tree; None: published planning figures are the bound.
    flare_assumed
        True where `flare` was not measured and `check_site` put a figure in its place.
    """

    name: Text
    at: Point
    trunk: Annotated[float, WrittenAs("trunk")] = 0.0
    flare: Size = 0.0
    keep_off: Size | None = None
    girth: Annotated[float, WrittenAs("girth")] | None = None
    stems: Annotated[tuple[float, ...], WrittenAs("stems")] = ()
    clear_of_flare: Annotated[float, WrittenAs("width")] | None = None
    dripline: Size | None = None
    species: Text = ""
    allowed: Allowed | None = None
    flare_assumed: bool = field(default=False, metadata=NOT_WRITTEN)


@dataclass(frozen=True)
class TreeRule(Checked):
    """Which published rule sizes the root protection zone of every tree."""

    rule: Text = "1 ft per inch"


@dataclass(frozen=True)
class KeepClear(Checked):
    """Other ground that takes no fill or cut; `paved` where rain runs off it."""

    name: Text
    outline: Outline
    paved: YesNo = False


@dataclass(frozen=True)
class Building(Checked):
    """A building: its outline, and the levels that soil stays below, elevations in metres; None where not given.

    `foundation_top` is the top of its foundation, `siding` the lowest edge of its cladding, `sill` the lowest window's.
    """

    name: Text
    outline: Outline
    floor: Length | None = None
    foundation_top: Length | None = None
    siding: Length | None = None
    sill: Length | None = None


@dataclass(frozen=True)
class CrestPoint(Checked):
    """A high point of the crest: place in metres and wished height over existing grade in metres.

    Where `elevation` (metres) is given it stands in for the height, which is then 0.0: what the height is, only the
    ground can tell (`terrain.shape.crest`).
    """

    x: Length
    y: Length
    height: Annotated[float, WrittenAs("crest height")]
    elevation: Length | None = None


@dataclass(frozen=True)
class Berm(Checked):
    """The designer's wish: side slope limit (rise/run), crest, soil on hand (loose m3), toe width (metres).

    `soil` None: the heights as given; `toe` None: the shaping chooses; `gentle_side` (the side that runs out
    longer) None: all sides alike. `saddle` is the share of its height that the crest gives up half-way between two high
    points, 0 for a level crest; None: a little, more where they stand far apart. `drawn_out` says whether one high
    point alone is drawn out along the bed.
    """

    max_slope: Annotated[float, WrittenAs("slope")]
    crest: tuple[Annotated[CrestPoint, WrittenAs("crest point")], ...]
    soil: Volume | None = None
    toe: Annotated[float, WrittenAs("width")] | None = None
    gentle_side: Annotated[Compass, WrittenAs("compass")] | None = None
    saddle: WholeShare | None = None
    drawn_out: YesNo = True


@dataclass(frozen=True)
class Soil(Checked):
    """The soil: how it swells and shrinks, how it is sold, how it comes to the bed, what it costs.

    Parameters
    ----------
    kind
        Names a row of the published tables; swell and shrink are the middles of its ranges unless they are given.
    placing
        "by hand" or "by machine": which ranges of shrink and settlement apply; None: shrink as a machine packs, and no
        settlement but a stated one.
    swell, shrink
        loose/bank - 1, and 1 - placed/bank (the fraction-of-bank convention).
    shrink_of
        What a written `shrink` is a share of: "bank" (25 % leaves 0.75 of the bank volume) or "placed" (the divisor
        form of the Federal Lands Highway design manual, section 9.4.C: 25 % leaves 1/1.25 = 0.80). `check_site` turns
        the second into the first, so that every later stage knows one convention only.
    ground
        Kind of the soil that lies on the site (sod, topsoil, spoil); None: the same as is bought.
    settlement
        Share of the finished height that is built on top of it, because the mound settles: height built = finished
        height x (1 + settlement), as USDA-NRCS, Ponds (Agriculture Handbook 590), words its allowance.
    truck, barrow, bag
        Loose m3 that one load or bag holds.
    sold_in
        Smallest step in which soil is sold, loose m3; None sells any amount.
    payload
        Weight that one truck may carry, kg.
    unit_weight
        Weight of loose soil as the supplier states it, kg/m3.
    trip
        Time of one barrow trip, there and back with loading, seconds.
    barrows_at_once
        Barrows wheeled at the same time.
    price, disposal_price, mulch_price
        For one loose m3 of soil bought, of soil hauled away, of mulch: a short way to say what `Prices` holds.
    delivery_price, bag_price
        For one truck load, for one bag; likewise.
    reuse
        Share of the cut from basins, channels and trenches that is fit to be used as fill. All of it unless stated:
        what a dig in a garden brings up is the soil that the bed lies on.
    lost
        Share of the soil from outside that never reaches the mound: spilt, and left where the heap stood. None: none is
        expected, and the order is safe against a little all the same.
    stated
        Which of swell and shrink somebody stated: they are surer than the tables' even where they are the same.
    swell_spread, shrink_spread, settlement_spread, reuse_spread, lost_spread, unit_weight_spread
        Half the width of the range that the figure may lie in, as the site file writes it behind "+-"; None: as
        `terrain.site.spreads` has it.
    chance
        Chance of having enough that the order shall give; 0.8 leaves one job in five short.
    """

    kind: Text = USUAL_SOIL
    swell: Share = job_factors(USUAL_SOIL, None).swell
    shrink: Annotated[float, WrittenAs("loss")] = job_factors(USUAL_SOIL, None).shrink
    settlement: Annotated[float, WrittenAs("loss")] = 0.0
    shrink_of: Annotated[Literal["bank", "placed"], WrittenAs("shrink of")] = "bank"
    ground: Annotated[str, WrittenAs("soil kind")] | None = None
    truck: Annotated[float, WrittenAs("truck")] | None = None
    barrow: Annotated[float, WrittenAs("barrow")] | None = None
    price: Price | None = None
    bag: Annotated[float, WrittenAs("bag")] | None = None
    sold_in: Annotated[float, WrittenAs("sold in")] | None = None
    payload: Weight | None = None
    unit_weight: UnitWeight | None = None
    trip: Time | None = None
    barrows_at_once: Count = 1
    delivery_price: Money | None = None
    bag_price: Money | None = None
    disposal_price: Price | None = None
    mulch_price: Price | None = None
    reuse: WholeShare = 1.0
    lost: Annotated[float, WrittenAs("loss")] | None = None
    placing: Annotated[Placing, WrittenAs("placing")] | None = None
    stated: tuple[str, ...] = field(default=(), metadata=NOT_WRITTEN)
    swell_spread: Share | None = field(default=None, metadata=NOT_WRITTEN)
    shrink_spread: Share | None = field(default=None, metadata=NOT_WRITTEN)
    settlement_spread: Share | None = field(default=None, metadata=NOT_WRITTEN)
    reuse_spread: Share | None = field(default=None, metadata=NOT_WRITTEN)
    lost_spread: Share | None = field(default=None, metadata=NOT_WRITTEN)
    unit_weight_spread: Annotated[float, WrittenAs("weight spread")] | None = field(default=None, metadata=NOT_WRITTEN)
    chance: Chance = 0.8


@dataclass(frozen=True)
class ViewFrom(Checked):
    """Where somebody stands and looks at the bed: place in metres, eyes `eye` metres over the ground there."""

    name: Text
    at: Point
    eye: Size = 1.6


@dataclass(frozen=True)
class GridSpec(Checked):
    """Cell size of the grid in metres; None lets the ground model choose."""

    cell: Size | None = None


@dataclass(frozen=True, eq=False, repr=False)
class Site(Comparable, Checked):
    """One yard: everything the site file says, validated, lengths in metres."""

    name: Text
    units: Units
    survey: Survey
    bed: Bed
    berm: Berm
    tree: tuple[Tree, ...] = ()
    trees: TreeRule = field(default_factory=TreeRule)
    keep_clear: tuple[KeepClear, ...] = ()
    walk: tuple[Walk, ...] = ()
    heap: tuple[Heap, ...] = ()
    building: tuple[Building, ...] = ()
    basin: tuple[Basin, ...] = ()
    channel: tuple[Channel, ...] = ()
    terrace: tuple[Terrace, ...] = ()
    retained_edge: tuple[RetainedEdge, ...] = ()
    stream: tuple[Stream, ...] = ()
    water: StreamWater = field(default_factory=StreamWater)
    soil: Soil = field(default_factory=Soil)
    prices: Prices = field(default_factory=Prices)
    storm: Storm = field(default_factory=Storm)
    local: Local = field(default_factory=Local)
    crew: Crew = field(default_factory=Crew)
    drawing: Drafting = field(default_factory=Drafting)
    grid: GridSpec = field(default_factory=GridSpec)
    view_from: tuple[ViewFrom, ...] = ()
    thing: tuple[Thing, ...] = ()
    none_here: Annotated[tuple[Kind, ...], WrittenAs("thing kinds")] = ()  # looked for; none is there
    boundary: Outline | None = None  # the lot line
    path: Path | None = field(default=None, metadata=NOT_WRITTEN, compare=False)  # where it lies is no part of it

    def __post_init__(self) -> None:
        super().__post_init__()
        for name, part in (("survey", Survey), ("bed", Bed), ("berm", Berm), ("soil", Soil)):
            if not isinstance(getattr(self, name), part):
                arrived = type(getattr(self, name)).__name__
                raise InputError(f"site {name}", f"a {arrived} arrived.", f"Accepted: a {part.__name__}.")
        if self.units not in ("ft", "m"):
            raise InputError("site units", f"{self.units!r} arrived.", 'Accepted: "ft" or "m".')

    def __repr__(self) -> str:
        trees = f"{len(self.tree)} tree{'s' if len(self.tree) != 1 else ''}"
        return f"<Site {self.name}: {len(self.survey.shots)} shots, bed of {self.bed.outline.area:.1f} m2, {trees}>"

    @cached_property
    def design_storm(self) -> DesignStorm:
        """The storm that the ground is held against, assumed where it is not stated."""
        return design_storm(self.storm, self.soil.ground or self.soil.kind)

    @cached_property
    def survey_print(self) -> str:
        """Fingerprint of what existing grade comes from."""
        return fingerprint(self.survey.shots, self.survey.breaklines, self.survey.accuracy, *self.survey.shared)

    @cached_property
    def yard_print(self) -> str:
        """Fingerprint of what a proposal comes from.

        The heights of the crest and the soil on hand are left out: they scale one and the same mound.
        """
        berm = self.berm
        return fingerprint(
            *(self.survey_print, self.bed.outline, self.trees.rule),
            [(tree.name, tree.at, tree.trunk, tree.flare, tree.keep_off) for tree in self.tree],
            *(self.keep_clear, self.building, self.basin, self.channel, self.terrace, self.retained_edge, self.stream),
            *(berm.max_slope, berm.toe, berm.gentle_side, berm.saddle, berm.drawn_out),
            [(point.x, point.y) for point in berm.crest],
        )

    @cached_property
    def layers_print(self) -> str:
        """Fingerprint of what volumes come from: the yard, and what is stripped and laid."""
        return fingerprint(self.yard_print, self.bed)

    @cached_property
    def run_print(self) -> str:
        """Eight hexadecimal digits that tell one state of everything that was read from another: a sheet carries them.

        The folder that it lies in does not count.
        """
        return fingerprint(*(getattr(self, part.name) for part in fields(self) if part.name != "path"))[:8]
