"""Streams that cannot be built, each with the place and what would do."""

from __future__ import annotations

import numpy as np
import shapely

from terrain.errors import InputError
from terrain.ground import Ground
from terrain.limits import DEEPEST_DIG
from terrain.shape.digs import check_digs
from terrain.shape.long_section import LongSection
from terrain.shape.proposal import Proposal
from terrain.shape.streams import StreamBed
from terrain.shape.worked import holds_of
from terrain.site import Site, Stream
from terrain.units import Units, show_length, show_place


def check_stream(site: Site, ground: Ground, proposal: Proposal, stream: Stream, bed: StreamBed) -> None:
    """Refuse a stream that runs uphill, into ground that takes no cut, too deep, or under the floor of its basin.

    Parameters
    ----------
    site, ground, proposal
        The yard, and the whole proposal.
    stream, bed
        As the site file has it and as it would be cut.

    Raises
    ------
    InputError
        Naming the stream, the place and what would do.
    """
    section, key = bed.section, f'[[stream]] "{stream.name}"'
    _refuse_uphill(stream, section, site.units, key)
    check_digs((bed.dig,), holds_of(site, ground.grid.cell / 2.0))
    _refuse_depth(section, site.units, key)
    floor = _basin_floor(site, proposal, stream)
    if floor is not None and section.bed[-1] < floor:
        under = show_length(float(floor - section.bed[-1]), site.units)
        raise InputError(
            f"{key} {'line' if section.proposed else 'drops'}",
            f'its bed would end {under} under the floor of "{stream.basin}".',
            f"{_drops_that_fit(section, stream, site.units)} Or dig the basin deeper.",
        )


def _refuse_uphill(stream: Stream, section: LongSection, units: Units, key: str) -> None:
    """Water runs down: a line whose end lies over its start was most likely drawn from the bottom."""
    rise = float(min(section.left[-1], section.right[-1]) - min(section.left[0], section.right[0]))
    if rise > stream.depth:
        raise InputError(
            f"{key} line",
            f"the ground at its last point stands {show_length(rise, units, 'distance')} over that at its first.",
            "Accepted: a line from the top down; list its points in the other order.",
        )


def _refuse_depth(section: LongSection, units: Units, key: str) -> None:
    bank = section.bank
    deepest = int(np.argmax(bank))
    if bank[deepest] > DEEPEST_DIG.value:
        raise InputError(
            f"{key} line",
            f"its bed would lie {show_length(float(bank[deepest]), units, 'distance')} under the ground at "
            f"{show_place(float(section.places[deepest, 0]), float(section.places[deepest, 1]), units)}.",
            f"Accepted: up to {show_length(DEEPEST_DIG.value, units, 'distance')}; lead it round high ground.",
        )


def _basin_floor(site: Site, proposal: Proposal, stream: Stream) -> float | None:
    """Elevation of the floor of the basin that it ends in, metres; None where it ends in none."""
    for basin, dig in zip(site.basin, proposal.digs, strict=False):
        if basin.name == stream.basin:
            return float(dig.bottom(shapely.get_coordinates(dig.floor.representative_point()))[0])
    return None


def _drops_that_fit(section: LongSection, stream: Stream, units: Units) -> str:
    """What would do in place of the drops: as much as the ground falls, or none stated."""
    if section.proposed:
        return "Accepted: a line that ends higher."
    banks = np.minimum(section.left, section.right)
    fall = max(0.0, float(banks[0] - banks[-1]))
    stated = sum(drop.height for drop in section.drops)
    return (
        f"The drops add up to {show_length(stated, units)}, and the ground falls {show_length(fall, units)}. "
        "Accepted: drops that add up to less than that; left out, they are proposed."
    )
