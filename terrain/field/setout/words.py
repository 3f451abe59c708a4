"""What a crew reads: tape distances to 1/4 in or 1 cm, sides, fill and cut, rod readings."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from fractions import Fraction

from terrain.field.setout.model import SetOut, Stake, Tapes
from terrain.field.setout.off_roots import MOVED
from terrain.units import Units, show_length, unit_length

QUARTER = 0.0254 / 4.0
STEP: dict[Units, float] = {"ft": QUARTER, "m": 0.01}  # metres: what a tape is read to


def show_tape(metres: float, units: Units) -> str:
    """A distance as it is read off a tape: "31 ft 6 1/4 in", or metres to 1 cm."""
    if units == "m":
        return show_length(metres, units, "distance")
    count = round(abs(metres) / QUARTER)
    feet, quarters = divmod(count, 48)
    whole, rest = divmod(quarters, 4)
    inches = " ".join(str(part) for part in (whole, Fraction(rest, 4)) if part)
    parts = [f"{feet} ft"] if feet or not inches else []
    sign = "-" if metres < 0.0 and count else ""
    return sign + " ".join([*parts, f"{inches} in"] if inches else parts)


def side_words(tapes: Tapes) -> str:
    """ "left of house SW to house SE"."""
    return f"{'left' if tapes.left else 'right'} of {tapes.start.name} to {tapes.end.name}"


def offset_words(offset: float, units: Units) -> str:
    """ "4 ft 2 in left" of the baseline; "0" on it."""
    size = show_tape(abs(offset), units)
    if abs(offset) < STEP[units] / 2.0:
        return "0"
    return f"{size} {'left' if offset > 0.0 else 'right'}"


def depth_words(depth: float, units: Units) -> str:
    """ "fill 14 1/4 in", "cut 3 in", or "none" where less than the step of a rule."""
    least = 0.0254 / 8.0 if units == "ft" else 0.0025
    if abs(depth) < least:
        return "none"
    return f"{'fill' if depth > 0.0 else 'cut'} {show_length(abs(depth), units)}"


def rod_words(set_out: SetOut, elevation: float, units: Units) -> str:
    """The rod reading for a grade; "above" where the grade stands above the instrument."""
    assert set_out.level is not None
    reading = set_out.level.rod(elevation)
    return "above" if reading is None else rod_figure(reading, units)


def rod_figure(metres: float, units: Units) -> str:
    """A rod reading: feet to 0.01, metres to 1 mm."""
    return f"{metres / unit_length(units):.{2 if units == 'ft' else 3}f}"


def stake_notes(stake: Stake) -> str:
    """What to mind when taping a stake, or nothing."""
    if not stake.tapes.clear:
        return "a tape is blocked: carry the place over by station and offset"
    return "" if stake.tapes.dilution <= 3.0 else "tapes cross flat: check by station and offset"


def stakes_by_tapes(set_out: SetOut) -> list[tuple[Tapes, list[Stake]]]:
    """The stakes that are taped from the same two points on the same side, together, in the order they come."""
    found: dict[tuple[str, str, bool], list[Stake]] = {}
    for stake in set_out.stakes:
        tapes = stake.tapes
        found.setdefault((tapes.start.name, tapes.end.name, tapes.left), []).append(stake)
    return [(stakes[0].tapes, stakes) for stakes in found.values()]


def worst_slip(set_out: SetOut, units: Units) -> float:
    """How far the worst stake can stand off, metres, because its tapes are rounded to a step; in whole steps, up."""
    weakest = max(stake.tapes.dilution for stake in set_out.stakes)
    return math.ceil(weakest * math.sqrt(2.0) / 2.0) * STEP[units]


def reading_notes(set_out: SetOut, units: Units, settlement: float) -> list[str]:
    """What the crew must know to use the figures, in sentences."""
    start, end = (known.name for known in set_out.baseline)
    slip = show_length(worst_slip(set_out, units), units)
    rounded = "1/4 in" if units == "ft" else "1 cm"
    notes = ["Hold tapes level, at the corner itself. Grades are of soil: strip the sod first; mulch comes on top."]
    if settlement > 0.0:
        notes.append(f"Build to day one: the soil settles by {100 * settlement:g} % of its height to finished grade.")
    notes.append(f"Tapes are rounded to {rounded}, which moves a stake by at most {slip}.")
    notes.append(f"Station and offset run from {start} towards {end}; left and right as you look along.")
    if set_out.level:
        height = show_length(set_out.level.instrument, units, "elevation")
        notes.append(f"Height of instrument {height}, {set_out.level.source}. Rod readings in {_unit(units)}.")
    else:
        notes.append("Rod reading = height of instrument less grade; --benchmark and --backsight work them out.")
    if set_out.first:
        notes.append(f"Other stakes are taped from {', '.join(set_out.first)}: set these first.")
    return [*notes, *_stake_notes(set_out.stakes)]


def _stake_notes(stakes: Sequence[Stake]) -> Iterator[str]:
    """What is unlike the rest about single stakes."""
    moved = [stake.name for stake in stakes if MOVED in stake.what]
    if moved:
        yield f"No stake is driven inside a keep-off: {', '.join(moved)} stand beside it, on their line."
    blocked = [stake.name for stake in stakes if not stake.tapes.clear]
    if blocked:
        yield f"A building or trunk blocks a tape to {', '.join(blocked)}: use station and offset there."


def _unit(units: Units) -> str:
    return "feet" if units == "ft" else "metres"
