"""Pits: what an open one asks of the people beside it, how far its sides lie back, and room to set a basin in it.

Slopes of pit sides are for the time of the work only; no figure here is a slope for a finished mound.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import shapely

from terrain.findings import Finding, Level
from terrain.limits import FOOT, INCH
from terrain.shape import Dig, Proposal
from terrain.site import Basin, Site
from terrain.units import Units, show_length

# Depths of an open pit at which a duty of the employer begins (29 CFR 1926 Subpart P), metres.
EXIT_DEPTH = 4.0 * FOOT  # 1926.651(c)(2)
PROTECT_DEPTH = 5.0 * FOOT  # 1926.652(a)(1)
ENGINEER_DEPTH = 20.0 * FOOT  # 1926.652, Appendix B; 20 ft itself counted in, the careful reading
HEAP_BACK = 2.0 * FOOT  # 1926.651(j)(2)
EXIT_WITHIN = 25.0 * FOOT  # 1926.651(c)(2)
PIT_DEPTH = 1.0 * FOOT  # below this a hole is no pit: common practice, no published source
PITS = "29 CFR 1926 Subpart P"

# A footing bears on the ground below it, spreading at 1:1: common practice, no published source.
FOOTING = "IBC, excavation near foundations: it must not take away their support; 1:1 is common practice"

# Run over rise of pit sides, depths under 20 ft: 29 CFR 1926 Subpart P, Appendix B, table B-1. Soil that nobody has
# classed lies back as type C: 1926.652(b)(1).
LAID_BACK = {"rock": 0.0, "A": 0.75, "B": 1.0, "C": 1.5}
UNCLASSED = "C"

# Room dug round a rigid basin for its backfill, each side: pages say 2 to 8 in; 4 to 6 in is common practice, no
# published source. Backfill goes in 4 in lifts.
LEAST_ROOM = 2.0 * INCH
USUAL_ROOM: dict[Units, tuple[float, float]] = {"ft": (4.0 * INCH, 6.0 * INCH), "m": (0.10, 0.15)}
LIFT: dict[Units, float] = {"ft": 4.0 * INCH, "m": 0.10}
ROOM = "common practice, no published source; pages on basins say 2 to 8 in"


def laid_back(depth: float, soil: str = UNCLASSED) -> float:
    """How far back from the foot the top of a pit's side lies, metres, for a depth in metres and a type of soil.

    29 CFR 1926 Subpart P, Appendix B, table B-1; `soil` is "rock", "A", "B" or "C". From 20 ft on an engineer
    says.
    """
    return depth * LAID_BACK[soil]


def pit_duty(depth: float, units: Units) -> tuple[Level, str] | None:
    """What an open pit of a depth in metres asks for, or None for a shallow hole; soil is not classed here."""
    heap = f"Keep the spoil heap {show_length(HEAP_BACK, units, 'distance')} back from its edge."
    if depth >= ENGINEER_DEPTH:
        return "stop", f"A pit of {show_length(ENGINEER_DEPTH, units, 'distance')} or more needs an engineer's design."
    if depth >= PROTECT_DEPTH:
        deep = show_length(PROTECT_DEPTH, units, "distance")
        back = show_length(laid_back(depth), units, "distance")
        return "caution", (
            f"A pit {deep} deep or more needs sides shored or laid back; soil that nobody has classed lies back {back} "
            f"on every side. {heap}"
        )
    if depth >= EXIT_DEPTH:
        deep, within = (show_length(length, units, "distance") for length in (EXIT_DEPTH, EXIT_WITHIN))
        text = f"A pit {deep} deep or more needs a way out within {within} and a competent person's look. {heap}"
        return "caution", text
    if depth >= PIT_DEPTH:
        return "caution", f"Have a competent person look at the sides of the pit each day and after rain. {heap}"
    return None


def pit_findings(site: Site, proposal: Proposal) -> Iterator[Finding]:
    """The deepest digging of the design, and basins that leave little room for their backfill."""
    cut = -proposal.mesh.fill
    deepest = int(np.argmax(cut))
    duty = pit_duty(float(cut[deepest]), site.units)
    if duty is not None:
        level, text = duty
        x, y = proposal.mesh.points[deepest]
        at = (float(x), float(y))
        yield Finding(level, "safety", text, float(cut[deepest]), PROTECT_DEPTH, PITS, at)
    yield from _room(site.units, site.basin)


def footing_findings(site: Site, digs: tuple[Dig, ...]) -> Iterator[Finding]:
    """The dig that comes nearest under a building, where its floor lies nearer to the wall than it is deep."""
    depths = [*(basin.depth for basin in site.basin), *(channel.depth for channel in site.channel)]
    footing = site.local.bound("frost").value
    near = [
        (away - depth, away, depth, dig, building)
        for dig, depth in zip(digs, depths, strict=True)
        for building in site.building
        if depth > footing and (away := float(dig.floor.distance(building.outline))) < depth
    ]
    if not near:
        return
    _, away, depth, dig, building = min(near, key=lambda one: one[0])
    deep, far = show_length(depth, site.units), show_length(away, site.units, "distance")
    x, y = shapely.get_coordinates(shapely.shortest_line(dig.floor, building.outline))[0]
    text = (
        f"{dig.name} is dug {deep} deep, {far} from {building.name}: that may take the ground from under its footing. "
        "Keep it as far off as it is deep, or ask an engineer."
    )
    yield Finding("caution", "safety", text, away, depth, FOOTING, (float(x), float(y)))


def _room(units: Units, basins: tuple[Basin, ...]) -> Iterator[Finding]:
    """The basin with the least room round it, where that is too little to fill and tamp."""
    if not basins:
        return
    tight = min(basins, key=lambda basin: basin.clearance)
    if tight.clearance >= LEAST_ROOM - 1e-9:
        return
    low, high = (show_length(room, units) for room in USUAL_ROOM[units])
    text = (
        f"{tight.name} has {show_length(tight.clearance, units)} of room round it. Dig {low} to {high} more on each "
        f"side, and fill back in lifts of {show_length(LIFT[units], units)}."
    )
    yield Finding("note", "shape", text, tight.clearance, LEAST_ROOM, ROOM, tight.center)
