"""Water under way: what stands in bed, pools and pipe while the pump runs, and runs back when it stops."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from terrain.estimates import Figure, exactly
from terrain.waterworks.depth import Running, normal_depth
from terrain.waterworks.reaches import Reach

# Manning's n of a stony bed is known within a factor of two: common practice, beside USDA RMRS-GTR-323 (2014).
ROUGHNESS_FACTOR = 2.0
# Water does not run evenly on a bed that falls less: it stands as in a pool, as high as the lip below makes it. Common
# practice, no published source.
LEVEL = 0.002


@dataclass(frozen=True)
class Wet:
    """One reach with its water: as it runs at the roughness stated, and at half and twice of it."""

    reach: Reach
    usual: Running
    smooth: Running
    rough: Running

    @property
    def depth(self) -> Figure:
        """Of the water, metres."""
        return Figure(self.usual.depth, self.smooth.depth, self.rough.depth)

    @property
    def volume(self) -> Figure:
        """Of the water that the pump has to fill in, m3."""
        path = self.reach.path
        return Figure(self.usual.area * path, self.smooth.area * path, self.rough.area * path)

    @property
    def surface(self) -> float:
        """Of the water, m2."""
        return self.reach.surface or self.usual.top * self.reach.length


@dataclass(frozen=True)
class Transit:
    """Water under way, m3: in the bed, on the pools, in the pipe."""

    bed: Figure
    pools: float
    pipe: float

    @property
    def total(self) -> Figure:
        """All of it."""
        return self.bed + exactly(self.pools + self.pipe)


def wet_reach(reach: Reach, flow: float, head: float, roughness: float) -> Wet:
    """A reach with a flow of m3/s; `head` is that over the lip below it, metres."""
    if reach.kind == "pool" or reach.slope < LEVEL:
        still = _standing(reach, flow, head)
        return Wet(reach, still, still, still)
    return Wet(
        reach,
        *(
            normal_depth(flow, reach.width, reach.run, reach.slope, n)
            for n in (roughness, roughness / ROUGHNESS_FACTOR, roughness * ROUGHNESS_FACTOR)
        ),
    )


def _standing(reach: Reach, flow: float, head: float) -> Running:
    """Water that stands `head` over the lip below: what the pump fills in over still water."""
    across = reach.surface / reach.length if reach.surface else reach.width + reach.run * head
    return Running(head, across * head, across, flow)


def transit_of(wet: Sequence[Wet], pipe: float) -> Transit:
    """The water under way in all reaches, and in a pipe that holds `pipe` m3 and drains back."""
    beds = (one.volume for one in wet if one.reach.kind == "bed")
    pools = (one.volume.value for one in wet if one.reach.kind == "pool")
    return Transit(bed=sum(beds, exactly(0.0)), pools=sum(pools), pipe=pipe)
