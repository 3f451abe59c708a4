"""What local code, or the ground of the place, says in place of the bounds that hold where nobody said."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType

from terrain.limits import (
    BASIN_AWAY,
    FALL,
    FENCE_DEPTH,
    FOOTING_DEPTH,
    GUARD_DROP,
    HAND_DIG,
    HYDRANT_CLEAR,
    LINE_AWAY,
    METER_CLEAR,
    PERMIT_FILL_DEPTH,
    PERMIT_HEIGHT,
    PERMIT_VOLUME,
    SEPTIC_CLEAR,
    SETBACK_LEAST,
    SIGHT_HEIGHT,
    SIGHT_LEG,
    Limit,
)
from terrain.site.ranges import Checked
from terrain.site.written import Size, Volume

# What holds for each key where the site file does not say.
USUAL: Mapping[str, Limit] = MappingProxyType(
    {
        "frost": FOOTING_DEPTH,
        "house_fall": FALL,
        "basin_away": BASIN_AWAY,
        "fence_depth": FENCE_DEPTH,
        "setback": SETBACK_LEAST,
        "permit_height": PERMIT_HEIGHT,
        "permit_fill": PERMIT_FILL_DEPTH,
        "permit_volume": PERMIT_VOLUME,
        "guard_drop": GUARD_DROP,
        "sight_leg": SIGHT_LEG,
        "sight_height": SIGHT_HEIGHT,
        "hydrant": HYDRANT_CLEAR,
        "meter": METER_CLEAR,
        "septic": SEPTIC_CLEAR,
        "buried_line": HAND_DIG,
        "overhead_line": LINE_AWAY,
    }
)


@dataclass(frozen=True)
class Local(Checked):
    """Figures of the place in metres and m3; None: the usual one, as `bound` has it.

    Parameters
    ----------
    frost
        Depth to which the ground freezes, below which footings stand.
    house_fall
        Fall of the ground over the first 10 ft from a building.
    basin_away
        From a foundation to a basin whose water soaks in.
    fence_depth
        Depth of open water from which a fence is asked for.
    setback
        From work to the lot line, at least.
    permit_height
        Height of a wall, from the foot of its base stones, above which a permit is asked for.
    permit_fill, permit_volume
        Depth of fill, and earth moved, above which a permit is asked for.
    guard_drop
        Drop beside a seat or a walk above which a guard is asked for.
    sight_leg, sight_height
        Leg of a sight triangle along each street, and the highest ground and plants in it.
    hydrant, meter, septic
        Clear ground round each.
    buried_line, overhead_line
        From a line in the ground, within which the dig is opened by hand; from one in the air.
    """

    frost: Size | None = None
    house_fall: Size | None = None
    basin_away: Size | None = None
    fence_depth: Size | None = None
    setback: Size | None = None
    permit_height: Size | None = None
    permit_fill: Size | None = None
    permit_volume: Volume | None = None
    guard_drop: Size | None = None
    sight_leg: Size | None = None
    sight_height: Size | None = None
    hydrant: Size | None = None
    meter: Size | None = None
    septic: Size | None = None
    buried_line: Size | None = None
    overhead_line: Size | None = None

    def bound(self, key: str) -> Limit:
        """The bound of a key of `USUAL`: as the site file says it, or the usual one with its source."""
        usual, said = USUAL[key], getattr(self, key)
        return usual if said is None else replace(usual, value=said, source=f"the site file, [local] {key}")
