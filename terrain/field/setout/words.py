"""What a crew reads: tape distances to 1/4 in or 1 cm, sides, fill and cut, rod readings."""

from __future__ import annotations

import math
from collections.abc import Iterator
from fractions import Fraction

import numpy as np
import shapely

from terrain.field.setout.level import level_shot
from terrain.field.setout.model import Nail, SetOut, Stake, Tapes
from terrain.flow import Study
from terrain.shape import Dig
from terrain.site import keep_off_radius
from terrain.units import Units, show_length, unit_length
from terrain.waterworks import tolerance_words

QUARTER = 0.0254 / 4.0
STEP: dict[Units, float] = {"ft": QUARTER, "m": 0.01}  # metres: what a tape is read to
PLAIN = ("foot", "crest", "top", "between")  # what most stakes mark
FINEST: dict[Units, float] = {"ft": QUARTER, "m": 0.005}  # metres: what the reached error is told in, rounded up


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
    """The stakes in the order of walking, those that follow one another from the same points on one side together."""
    found: list[tuple[Tapes, list[Stake]]] = []
    for stake in set_out.stakes:
        if not found or _hooks(stake.tapes) != _hooks(found[-1][0]):
            found.append((stake.tapes, []))
        found[-1][1].append(stake)
    return found


def _hooks(tapes: Tapes) -> tuple[str, str, bool]:
    return tapes.start.name, tapes.end.name, tapes.left


def worst_slip(set_out: SetOut, units: Units) -> float:
    """How far the worst stake can stand off, metres, because its tapes are rounded to a step; in whole steps, up."""
    weakest = max(stake.tapes.dilution for stake in set_out.stakes)
    return math.ceil(weakest * math.sqrt(2.0) / 2.0) * STEP[units]


def reached_words(set_out: SetOut, units: Units) -> str:
    """ "Built by these 31 stakes the mound is within 1 1/4 in of the day one grade." """
    error = show_length(math.ceil(set_out.error / FINEST[units] - 1e-6) * FINEST[units], units)
    text = f"Built by these {len(set_out.stakes)} stakes the mound is within {error} of the {set_out.stage} grade"
    return text + (f", but for {'; '.join(set_out.excepted)}." if set_out.excepted else ".")


def reading_notes(set_out: SetOut, study: Study) -> list[str]:
    """What the crew must know to use the figures, in sentences, the nails that it drives first before all else."""
    units = study.site.units
    notes = [*_nail_notes(set_out, units), reached_words(set_out, units)]
    notes.append(
        "Rake straight from each stake to its neighbours. Grades are of soil: strip the sod first; mulch on top."
    )
    notes += [*_grade_notes(set_out, study), *_tape_notes(set_out, units), *_level_notes(set_out, study)]
    return [*notes, *_edge_notes(set_out), *_yard_notes(study), *_sill_notes(set_out, units)]


def _edge_notes(set_out: SetOut) -> Iterator[str]:
    """The stakes that stand beside what they mark."""
    beside: dict[str, list[str]] = {}
    for stake in set_out.stakes:
        for what in stake.what.split("; "):
            if what not in PLAIN:
                beside.setdefault(what, []).append(stake.name)
    for what, names in beside.items():
        yield f"{', '.join(names)}: {what}."


def _nail_notes(set_out: SetOut, units: Units) -> Iterator[str]:
    """Where nails are driven first, and what is measured from them before anything else."""
    placed = [_nail_words(nail, units) for nail in set_out.nails if nail.tapes or nail in set_out.nails[:2]]
    pegs = [nail.point.name for nail in set_out.nails[2:]]
    if placed:
        yield f"First drive {'; '.join(placed)}."
    if pegs:
        on = ", ".join(f"{name} at {show_tape(_station(set_out, name), units)}" for name in pegs)
        yield f"String {set_out.baseline[0].name} to {set_out.baseline[1].name}, and drive on the string {on}."
    if set_out.checks:
        told = [f"{one.start} to {one.end} {show_tape(one.distance, units)}" for one in set_out.checks]
        off = show_length(2.0 * STEP[units], units)
        yield f"Check before any stake: {'; '.join(told)}. Off by more than {off}: drive them again."


def _station(set_out: SetOut, name: str) -> float:
    start = set_out.baseline[0].at
    return next(math.dist(start, nail.point.at) for nail in set_out.nails if nail.point.name == name)


def _nail_words(nail: Nail, units: Units) -> str:
    tapes, name = nail.tapes, nail.point.name
    if tapes is None:
        east, north = (show_length(value, units, "elevation") for value in nail.point.at)
        return f"nail {name} at x {east}, y {north} of the survey"
    first, second = show_tape(tapes.from_start, units), show_tape(tapes.from_end, units)
    return f"nail {name} {first} from {tapes.start.name} and {second} from {tapes.end.name}, {side_words(tapes)}"


def _grade_notes(set_out: SetOut, study: Study) -> Iterator[str]:
    settlement = 100.0 * study.site.soil.settlement
    if settlement <= 0.0:
        return
    if set_out.stage == "day one":
        yield f"Build to day one: the soil settles by {settlement:g} % of its height to finished grade."
    else:
        yield f"These are finished grades: what is built on day one stands {settlement:g} % of its height over them."


def _tape_notes(set_out: SetOut, units: Units) -> Iterator[str]:
    start, end = (known.name for known in set_out.baseline)
    if set_out.step is None:
        slip = show_length(worst_slip(set_out, units), units)
        rounded = "1/4 in" if units == "ft" else "1 cm"
        yield f"Hold tapes level, at the corner itself; rounded to {rounded}, which moves a stake by up to {slip}."
    else:
        yield f"Stations run from {start} to {end}; offsets square off the string, left or right as you look along."
    yield from _hook_notes(set_out, units)


def _hook_notes(set_out: SetOut, units: Units) -> Iterator[str]:
    """What is unlike the rest about the points that tapes hang on, and about single stakes."""
    for known in set_out.known:
        if known.bark > 0.0:
            off = show_tape(known.bark, units)
            yield f"Tapes from {known.name} run from its middle: held at the bark, they are {off} shorter."
    if set_out.step is not None:
        return
    if set_out.first:
        yield f"Other stakes are taped from {', '.join(set_out.first)}: set these first."
    blocked = ", ".join(stake.name for stake in set_out.stakes if not stake.tapes.clear)
    if blocked:
        along = " to ".join(known.name for known in set_out.baseline)
        yield f"A building or trunk blocks a tape to {blocked}: use station and offset there, {along}."


def _level_notes(set_out: SetOut, study: Study) -> Iterator[str]:
    units, level = study.site.units, level_shot(study.site, study.proposal)
    if set_out.level:
        height = show_length(set_out.level.instrument, units, "elevation")
        yield f"Height of instrument {height}, {set_out.level.source}. Rod readings in {_unit(units)}."
    elif level is None:
        yield "Rod reading = height of instrument less grade; --benchmark and --backsight work them out."
    else:
        stands = show_length(level.elevation, units, "elevation")
        yield (
            f"Set the level on {level.name}, which stands at {stands}: height of instrument = that + the reading; "
            "rod reading at a stake = height of instrument less grade."
        )


def _yard_notes(study: Study) -> Iterator[str]:
    """The fences of trees and the depths of digs, which take no stake."""
    site, units = study.site, study.site.units
    for tree in site.tree:
        radius = show_tape(keep_off_radius(tree, site.trees.rule), units)
        yield f"Fence {tree.name} at {radius} from the middle of its trunk: no stake stands inside."
    for dig in study.proposal.all_digs:
        yield f"{dig.name}: dig its floor to {_floor_words(dig, units)}; no stake stands in it."


def _sill_notes(set_out: SetOut, units: Units) -> Iterator[str]:
    """Where the sills of streams are, and what they are set to."""
    for sill in set_out.sills:
        tapes, grade = sill.tapes, sill.day_one if set_out.stage == "day one" else sill.elevation
        first, second = show_tape(tapes.from_start, units), show_tape(tapes.from_end, units)
        level = show_length(grade, units, "sill")
        yield (
            f"{sill.name}: {level}, within {tolerance_words(units)}; {first} from {tapes.start.name}, {second} from "
            f"{tapes.end.name}, {'left' if tapes.left else 'right'}."
        )


def _floor_words(dig: Dig, units: Units) -> str:
    edge = shapely.get_coordinates(dig.floor.exterior)
    levels = np.asarray(dig.bottom(edge))
    low, high = (show_length(float(level), units, "elevation") for level in (levels.min(), levels.max()))
    return low if low == high else f"{high} falling to {low}"


def _unit(units: Units) -> str:
    return "feet" if units == "ft" else "metres"
