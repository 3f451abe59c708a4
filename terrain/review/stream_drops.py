"""The drops of streams: those that the tool proposes, and those stated that leave the bed steep between them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise

import numpy as np

from terrain.findings import Finding
from terrain.limits import STEEPEST_TREAD
from terrain.shape import BedDrop, LongSection, PoolBed, proposed_drops
from terrain.site import Site, Stream
from terrain.units import Units, show_length, unit_length

STEP_POOLS = (
    "Abrahams, Li and Atkinson, Water Resources Research 31 (1995): mean step over mean tread is 1 to 2 times the slope"
)
LEAST_RUN = 0.3  # metres of bed whose fall is worth a word


def drop_findings(site: Site, sections: Sequence[LongSection]) -> Iterator[Finding]:
    """One finding a stream: its proposed drops to copy, or a bed that falls steeply between the stated ones."""
    for stream, section in zip(site.stream, sections, strict=True):
        if section.proposed:
            yield from _proposed(section, site.units)
        else:
            yield from _steep(stream, section, site.units)


def _proposed(section: LongSection, units: Units) -> Iterator[Finding]:
    if not section.drops:
        text = f"{section.name} falls {show_length(section.fall, units)} in all: no drop is proposed."
        yield Finding("note", "shape", text, section.fall, None, "the site file")
        return
    drops = drops_to_copy(section.drops, units)
    if section.pools_proposed:
        text = (
            f"{section.name} has neither drops nor pools stated, and is drawn with these: {drops} and "
            f"{pools_to_copy(section.pools, units)}. Copy both lines under its [[stream]] to hold them, or move them."
        )
    else:
        text = (
            f"{section.name} has no drops stated, and is drawn with these: {drops}. Copy the line under its [[stream]] "
            "to hold them, or move them."
        )
    yield Finding("note", "shape", text, section.steepness, 2.0, STEP_POOLS, section.drops[0].at)


def _steep(stream: Stream, section: LongSection, units: Units) -> Iterator[Finding]:
    steepest, at = steepest_tread(section)
    if steepest <= STEEPEST_TREAD.value:
        return
    drops = proposed_drops(stream, section)
    do = f"These would take the whole fall: {drops_to_copy(drops, units)}" if drops else "Lead it along a longer way"
    fall, taken = (show_length(one, units) for one in (section.fall, sum(drop.height for drop in section.drops)))
    text = (
        f"The bed of {section.name} falls {fall} and its drops take {taken} of it, so that it falls "
        f"{100.0 * steepest:.0f} % between them. {do}."
    )
    yield Finding("note", "shape", text, steepest, STEEPEST_TREAD.value, STEEPEST_TREAD.source, at)


def steepest_tread(section: LongSection) -> tuple[float, tuple[float, float]]:
    """The steepest fall of a bed between its drops, rise/run, pools left out, and the middle of that stretch."""
    ends = [0.0, *(drop.station for drop in section.drops), section.length]
    found = (0.0, (float(section.places[0, 0]), float(section.places[0, 1])))
    for start, end in pairwise(ends):
        on = (section.stations > start + 1e-9) & (section.stations <= end + 1e-9) if start else section.stations <= end
        level = sum(min(pool.end, end) - max(pool.start, start) for pool in section.pools if start <= pool.start < end)
        run = end - start - level
        fall = float(np.ptp(section.bed[on])) if on.any() else 0.0
        if run >= LEAST_RUN and fall / run > found[0]:
            middle = int(np.argmin(np.abs(section.stations - (start + end) / 2.0)))
            found = (fall / run, (float(section.places[middle, 0]), float(section.places[middle, 1])))
    return found


def drops_to_copy(drops: Sequence[BedDrop], units: Units) -> str:
    """`drops = [[27.0, 18.0, "6 in"], ...]` as a site file has them."""
    unit = unit_length(units)
    rows = (
        f'[{drop.at[0] / unit:.2f}, {drop.at[1] / unit:.2f}, "{show_length(drop.height, units)}"]' for drop in drops
    )
    return f"drops = [{', '.join(rows)}]"


def pools_to_copy(pools: Sequence[PoolBed], units: Units) -> str:
    """`pools = [{ at = [22.0, 16.0], size = "3 ft", depth = "4 in" }, ...]` as a site file has them."""
    return f"pools = [{', '.join(_pool_to_copy(pool, units) for pool in pools)}]"


def _pool_to_copy(pool: PoolBed, units: Units) -> str:
    unit = unit_length(units)
    size, depth = show_length(pool.end - pool.start, units), show_length(pool.sill - pool.floor, units)
    return f'{{ at = [{pool.at[0] / unit:.2f}, {pool.at[1] / unit:.2f}], size = "{size}", depth = "{depth}" }}'
