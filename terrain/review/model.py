"""What a proposal does to each tree: figures that findings, sheets and the summary share."""

from __future__ import annotations

import math
from dataclasses import dataclass

from terrain.limits import NOISE
from terrain.site import Allowed


@dataclass(frozen=True)
class DepthBand:
    """Area in m2 of some ground under soil between two depths in metres."""

    shallow: float
    deep: float
    area: float


@dataclass(frozen=True)
class Ring:
    """The ground between two circles about a trunk: radii in metres, and the soil that lies there.

    `area` is the whole ring, `covered` the part of it under soil (m2), `bands` that part by depth; `volume` of that
    soil in m3, `deepest` in m.
    """

    inner: float
    outer: float
    area: float
    covered: float
    volume: float
    deepest: float
    bands: tuple[DepthBand, ...] = ()


@dataclass(frozen=True)
class RootsMet:
    """A dig in a root zone: its name, how far its edge is from the trunk's centre, and its depth, metres."""

    name: str
    distance: float
    depth: float


@dataclass(frozen=True)
class TreeSoil:
    """The soil that lies on a tree's ground; names and units as in `TreeCheck`.

    Parameters
    ----------
    covered
        Area of the root zone under more than a trace of soil, m2.
    """

    name: str
    keep_off: float
    root_zone: float
    fill_in_keep_off: float
    deepest_fill_in_root_zone: float
    deepest_at: tuple[float, float] | None
    covered: float

    @property
    def share_of_root_zone_covered(self) -> float:
        """Share of the zone's area under more than a trace of soil."""
        return self.covered / (math.pi * self.root_zone * self.root_zone)


@dataclass(frozen=True)
class TreeCheck:
    """What a proposal does to one tree; all radii from the centre of the trunk, all sums exact on the mesh.

    Parameters
    ----------
    name, at, trunk
        As in the site file; metres.
    flare, keep_off, root_zone, holding_roots
        Radius of the flare, of the ground that takes no fill, of the root zone by `rule`, and of the roots that hold
        the tree up (the larger of three trunk diameters and the structural root zone), metres.
    structural
        Radius of the structural root zone, metres.
    dripline
        Radius of the crown, metres; None where it is not known.
    rule
        Name of the published rule that sizes the root zone.
    fill_in_keep_off, cut_in_keep_off
        Soil laid and soil taken inside the keep-off, m3; exactly 0.0 where no triangle reaches in.
    deepest_in_keep_off
        Deepest fill or cut there, metres.
    mulched_in_keep_off
        Ground inside the keep-off that is stripped and mulched with the bed, m2.
    heaped_in_keep_off, stones_in_keep_off
        Ground inside the keep-off under soil heaps and under the stones of retained edges, m2.
    deepest_fill_in_root_zone, deepest_at
        Deepest finished fill in the root zone, metres, and its place.
    deepest_on_day_one
        The same before the soil settles, metres; the depth that bounds are held against.
    fill_in_root_zone
        Soil in the root zone, m3.
    share_of_root_zone_covered
        Share of the zone's area under more than a trace of soil.
    share_of_root_zone_stripped, share_of_root_zone_dug, share_of_root_zone_heaped, share_of_root_zone_stones
        Share of the zone's area that is stripped of sod, lowered, under soil heaps outside the bed, and under the
        stones of retained edges, which stand in a trench.
    share_of_root_zone_disturbed
        Share of the zone's area that is filled, cut, stripped of sod, or under soil heaps or stones.
    changed_in_dripline
        Ground inside the dripline but outside the root zone that is raised or lowered, m2.
    deepest_cut_in_root_zone
        Of all digs there, metres.
    nearest_fill, nearest_cut
        Distance from the trunk's centre to the nearest soil laid or taken, metres; infinite where there is
        none.
    nearest_stripped, nearest_heap
        The same to ground that is stripped by more than a survey's noise, and to soil heaps.
    nearest_fill_at, nearest_cut_at
        Places of the first two, metres; None where there is none.
    digs
        Basins, channels, trenches and stripped topsoil whose edge comes into the root zone, the nearest first.
    rings
        Soil by distance, from the flare outwards to the edge of the root zone, each by depth.
    bands
        Area of the zone by depth of soil: 0 to 10 cm (or 4 in), 10 to 20 cm and so on.
    allowed
        What an arborist, who is named, has allowed in this zone.
    flare_assumed
        Whether nobody measured the flare.
    kind
        Kind of the tree as the site file has it, its name where that is not stated.
    """

    name: str
    at: tuple[float, float]
    trunk: float
    rule: str
    flare: float
    keep_off: float
    root_zone: float
    structural: float
    holding_roots: float
    dripline: float | None
    fill_in_keep_off: float
    cut_in_keep_off: float
    deepest_in_keep_off: float
    mulched_in_keep_off: float
    heaped_in_keep_off: float
    stones_in_keep_off: float
    deepest_fill_in_root_zone: float
    deepest_at: tuple[float, float] | None
    deepest_on_day_one: float
    fill_in_root_zone: float
    share_of_root_zone_covered: float
    share_of_root_zone_stripped: float
    share_of_root_zone_dug: float
    share_of_root_zone_heaped: float
    share_of_root_zone_stones: float
    share_of_root_zone_disturbed: float
    changed_in_dripline: float
    deepest_cut_in_root_zone: float
    nearest_fill: float
    nearest_cut: float
    nearest_stripped: float
    nearest_heap: float
    nearest_fill_at: tuple[float, float] | None
    nearest_cut_at: tuple[float, float] | None
    digs: tuple[RootsMet, ...]
    rings: tuple[Ring, ...]
    bands: tuple[DepthBand, ...]
    allowed: Allowed | None = None
    flare_assumed: bool = False
    kind: str = ""

    @property
    def nearest_fill_in_diameters(self) -> float:
        """Distance to the nearest soil as a multiple of the trunk diameter."""
        return self.nearest_fill / self.trunk

    @property
    def nearest_cut_in_diameters(self) -> float:
        """Distance to the nearest cut as a multiple of the trunk diameter."""
        return self.nearest_cut / self.trunk

    @property
    def keep_off_broken(self) -> bool:
        """Whether more is laid or taken inside the keep-off than a survey's noise."""
        moved = self.fill_in_keep_off > 0.0 or self.cut_in_keep_off > 0.0
        return moved and self.deepest_in_keep_off > NOISE.value

    @property
    def untouched(self) -> bool:
        """Whether the keep-off holds no soil, cut, heap or stones, and no ground that is stripped and mulched."""
        soil = self.fill_in_keep_off, self.cut_in_keep_off, self.mulched_in_keep_off
        return not any((*soil, self.heaped_in_keep_off, self.stones_in_keep_off))
