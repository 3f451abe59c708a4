"""The parts of a stream as it lies in the finished ground: stretches of bed, pools, and the sills between them."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from terrain.shape import LongSection, PoolBed
from terrain.waterworks.reaches import BESIDE, Reach, Sill

_SAME = 1e-6  # metres: two stations that are one


@dataclass(frozen=True)
class Parts:
    """A stream from its top down: stretches of bed and pools, and the sills that its water spills over."""

    reaches: tuple[Reach, ...]
    sills: tuple[Sill, ...]


def parts_of(section: LongSection, depth: float, day_one: float) -> Parts:
    """Cut a stream into its parts.

    Parameters
    ----------
    section
        The stream as it lies in the finished ground.
    depth
        Of its bed under the ground beside it, as asked for, metres: the sheet reaches so high.
    day_one
        Height to build for each unit of finished height.
    """
    ends = {at for pool in section.pools for at in (pool.start, pool.end)}
    cuts = sorted({0.0, section.length, *(drop.station for drop in section.drops), *ends})
    spans = [(start, end) for start, end in pairwise(cuts) if end - start > BESIDE] or [(0.0, section.length)]
    reaches = tuple(_reach(section, depth, start, end) for start, end in spans)
    return Parts(reaches, tuple(_sills(section, day_one)))


def _reach(section: LongSection, depth: float, start: float, end: float) -> Reach:
    """What lies between two cuts: a pool where one reaches over the middle, else bed."""
    run, middle, at = 1.0 / section.side_slope, (start + end) / 2.0, _place(section, start)
    pool = next((one for one in section.pools if one.start < middle < one.end), None)
    bank = _lowest_bank(section, start, end)
    if pool is None:
        top, foot = _beds(section, start, end)
        return Reach("bed", start, end - start, top, foot, section.width, run, depth, at=at, bank=bank)
    hollow = pool.sill - pool.floor
    width = max(0.0, _pool_width(pool) - 2.0 * hollow * run)
    return Reach(
        "pool", start, end - start, pool.floor, pool.floor, width, run, hollow + depth, pool.area, at, hollow, bank
    )


def _beds(section: LongSection, start: float, end: float) -> tuple[float, float]:
    """Elevation of the bed at both ends of a stretch; a drop at its start lies before it."""
    top, foot = np.interp([start, end], section.stations, section.bed)
    return next((drop.foot for drop in section.drops if abs(drop.station - start) < _SAME), float(top)), float(foot)


def _lowest_bank(section: LongSection, start: float, end: float) -> float:
    """How high the lower bank stands over the bed of a stretch, at the least; a drop at its start lies before it."""
    inside = (section.stations > start + _SAME) & (section.stations <= end + _SAME)
    return float(section.bank[inside].min())


def _pool_width(pool: PoolBed) -> float:
    """Width of a pool across the stream, metres: its water is an ellipse."""
    return 4.0 / math.pi * pool.area / (pool.end - pool.start)


def _place(section: LongSection, station: float) -> tuple[float, float]:
    """The place of a station on a stream's line, metres."""
    east, north = (float(np.interp(station, section.stations, section.places[:, k])) for k in (0, 1))
    return east, north


def _sills(section: LongSection, day_one: float) -> Iterator[Sill]:
    """The top, every drop, the outlet of every pool that no drop ends, and the end."""
    for name, station, height in sorted(_named(section), key=lambda one: one[1]):
        elevation, ground = (
            float(np.interp(station, section.stations, levels)) for levels in (section.bed, section.existing)
        )
        # Fill is built so many times as high; in a dig nothing settles.
        built = ground + day_one * (elevation - ground) if elevation > ground else elevation
        yield Sill(name, _place(section, station), station, elevation, built, height)


def _named(section: LongSection) -> Iterator[tuple[str, float, float]]:
    """Name, station and fall of every sill."""
    yield "top", 0.0, 0.0
    for number, drop in enumerate(section.drops, start=1):
        yield f"drop {number}", drop.station, drop.height
    taken = [drop.station for drop in section.drops] + [section.length]
    for number, pool in enumerate(section.pools, start=1):
        if all(abs(pool.end - station) > BESIDE for station in taken):
            yield f"pool {number}", pool.end, 0.0
    yield "end", section.length, 0.0
