"""What running water asks for: a basin that is enough, banks, level sills, a pump that fits, a way for storms, and care
for people.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from terrain.estimates import show_about, show_figure, show_mass
from terrain.findings import Finding
from terrain.limits import BETWEEN_REFILLS, INCH, PIPE_SPEED, PRACTICE, SILL, STILL_WATER
from terrain.review.words import listed
from terrain.site import Site, day_one_factor
from terrain.soil import ONE_PERSON
from terrain.units import Units
from terrain.waterworks import WATER, StreamNeeds, least_words, tolerance_words

# A pump that gives so much more or less than is asked for changes what the fall looks like: 10 % is what a curve
# is good for, common practice, no published source.
OFF_THE_FLOW = 0.10
ELECTRIC = "NEC 680 Part V and 29 CFR 1926.404(b)(1): ground-fault protection; the adopted local code decides"
FALL_IN = "RoSPA: 58 of 147 home drownings under six, 1995 to 2005, were in garden ponds"
COLD = f"{PRACTICE}: ice turns water out of its bed and empties the basin"
CALL_FIRST = "29 CFR 1926.651(b): lines are marked before a dig; in the United States call 811"
LIFTS = "NIOSH 94-110; EM 1110-2-1601 ch. 3"
UPLIFT = "Archimedes: 62.4 lb for each cubic foot of ground water outside"


def basin_of_stream_findings(units: Units, needs: StreamNeeds) -> Iterator[Finding]:
    """A basin that runs dry, and one that has to be filled every few days."""
    if needs.enough:
        return
    name, store = needs.materials.basin, needs.store
    streams = listed([needs.materials.name, *(other.name for other in needs.beside)])
    usable = show_about(store.usable, "water", units)
    if needs.runs_dry:
        text = (
            f"{name} gives {usable} and {show_figure(needs.together, 'water', units)} go into {streams} when the water "
            "starts: the pump runs dry. "
            f"{least_words(needs, units)}."
        )
        yield Finding("stop", "drainage", text, store.usable, needs.together.value, PRACTICE)
        return
    text = (
        f"{name} gives {usable}: not enough for what {streams} may take at the most and "
        f"{BETWEEN_REFILLS.value:.0f} summer days without a refill. {least_words(needs, units)}."
    )
    yield Finding("caution", "drainage", text, store.usable, needs.asked_of_basin, PRACTICE)


def bank_findings(site: Site, needs: StreamNeeds) -> Iterator[Finding]:
    """Water that may stand higher than the banks less their edge; its depth is known within its range only."""
    units = site.units
    edge = next(stream.edge for stream in site.stream if stream.name == needs.materials.name)
    for one in needs.wet:
        room = one.reach.bank - edge
        if one.depth.high <= room:
            continue
        over = one.depth.value > room
        text = (
            f"{needs.materials.name}: water may stand {show_figure(one.depth, 'thin', units)} deep and the banks leave "
            f"{show_about(max(room, 0.0), 'thin', units)} under their edge. Dig its bed deeper or wider, or run "
            "less water."
        )
        yield Finding(
            "stop" if over else "caution", "drainage", text, one.depth.high, room, "the site file", one.reach.at
        )
        return


def sill_findings(site: Site, needs: StreamNeeds) -> Iterator[Finding]:
    """Sills that stand on soil which settles: they tip, and are set again."""
    units, share = site.units, day_one_factor(site.soil.settlement) - 1.0
    sinks = max((sill.day_one - sill.elevation for sill in needs.materials.parts.sills), default=0.0)
    level = f"Set every sill of {needs.materials.name} level and to its height within {tolerance_words(units)}"
    if sinks <= SILL.value or share <= 0.0:
        yield Finding("note", "shape", f"{level}.", sinks, SILL.value, PRACTICE)
        return
    text = (
        f"{level}. They stand on fill that sinks up to {show_about(sinks, 'thin', units)}: bed them on firm ground or "
        "on fill that is packed in thin layers, and level them again after the first season."
    )
    yield Finding("caution", "shape", text, sinks, SILL.value, PRACTICE)


def pump_findings(units: Units, needs: StreamNeeds) -> Iterator[Finding]:
    """Water too fast in its pipe, and a pump that gives another flow than is asked for."""
    duty = needs.duty
    if duty.speed > PIPE_SPEED.value:
        text = (
            f"Water runs {show_about(duty.speed, 'speed', units)} in the pipe. Take a wider one: it changes the fall "
            "more than a stronger pump."
        )
        yield Finding("caution", "drainage", text, duty.speed, PIPE_SPEED.value, PIPE_SPEED.source)
    if not needs.pump_stated:
        return
    asked = show_about(needs.flow, "flow", units)
    if needs.pump is None:
        head = show_about(duty.head, "head", units)
        text = (
            "The pump's curve, as it is stated, does not meet what the pipe asks for. "
            f"Ask for {asked} at {head} of head."
        )
        yield Finding("caution", "drainage", text, None, None, "the site file")
    elif abs(needs.pump[0] / needs.flow - 1.0) > OFF_THE_FLOW:
        gives = show_about(needs.pump[0], "flow", units)
        more = needs.pump[0] > needs.flow
        do = "Throttle it on its outlet, never on its intake" if more else "Take a wider pipe or a stronger pump"
        text = f"The pump gives {gives}, and {asked} is asked for. {do}."
        yield Finding("caution", "drainage", text, needs.pump[0], needs.flow, PRACTICE)


def storm_findings(units: Units, needs: StreamNeeds) -> Iterator[Finding]:
    """Rain on the sheets has to go somewhere."""
    rain, water = show_about(needs.rain, "thin", units), show_about(needs.rain_water, "water", units)
    text = (
        f"{rain} of rain bring {water} onto {needs.materials.name} and its basin: lead what spills away from trunks, "
        "the mound's face, the house and the neighbour."
    )
    yield Finding("caution", "drainage", text, needs.rain_water, None, PRACTICE)


def people_findings(site: Site, streams: Sequence[StreamNeeds]) -> Iterator[Finding]:
    """Once for all streams: electricity, lines in the ground, open water, an empty basin, frost and still water."""
    if not streams:
        return
    yield _care(
        "caution",
        "Water and electricity kill: have a licensed electrician connect the pump, with ground-fault "
        "protection; unplug it before a hand goes in.",
        ELECTRIC,
    )
    yield _care(
        "caution",
        "Have buried lines and tanks marked before basin, bed and pipe are dug. Lay the pipe in the "
        "mound's own soil, over the old ground: a trench for it cuts roots.",
        CALL_FIRST,
    )
    yield _open_water(site, streams)
    yield from _lifts(site, streams)
    store = max((needs.store for needs in streams), key=lambda one: one.area)
    lift = show_mass(WATER * store.area * store.full, site.units)
    yield _care(
        "note",
        f"An empty basin floats: ground water up to its rim lifts with {lift}. Keep it filled in wet ground.",
        UPLIFT,
    )
    yield _care(
        "note",
        "Before frost stop the pump, lift it, drain the pipe without a sag, and shut any filling by itself. A filling "
        f"pipe ends over the rim, by two of its widths and {show_about(INCH, 'thin', site.units)} at least.",
        COLD,
    )
    days = f"{STILL_WATER.value:.0f}"
    yield _care(
        "note",
        f"Pools that stand still over {days} days breed mosquitoes: drain them when the pump rests.",
        STILL_WATER.source,
    )


def _lifts(site: Site, streams: Sequence[StreamNeeds]) -> Iterator[Finding]:
    """The heaviest stone of all streams, where one person must not lift it."""
    heaviest = max((one for needs in streams for one in needs.materials.rocks.stones), key=lambda one: one.each)
    if heaviest.each <= ONE_PERSON:
        return
    size, weight = show_about(heaviest.size, "thin", site.units), show_mass(heaviest.each, site.units)
    text = (
        f"A stone {size} across weighs about {weight}, more than one person may lift: use a machine or a team, and let "
        "nobody stand under it."
    )
    yield Finding("caution", "safety", text, heaviest.each, ONE_PERSON, LIFTS)


def _open_water(site: Site, streams: Sequence[StreamNeeds]) -> Finding:
    """The deepest open water; a small child drowns in a few inches."""
    deepest = max(one.depth.value + one.reach.hollow for needs in streams for one in needs.wet)
    few = "inches" if site.units == "ft" else "centimetres"
    fence = site.local.bound("fence_depth")
    fenced = deepest >= fence.value
    do = "local rules may ask for a fence round it" if fenced else "watch them, or cover it"
    text = (
        f"Water stands up to {show_about(deepest, 'thin', site.units)} deep. Small children drown in a few {few}: {do}."
    )
    return Finding("caution", "safety", text, deepest, fence.value, fence.source if fenced else FALL_IN)


def _care(level: str, text: str, source: str) -> Finding:
    assert level in ("note", "caution")
    return Finding("note" if level == "note" else "caution", "safety", text, source=source)
