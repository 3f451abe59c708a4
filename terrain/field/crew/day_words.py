"""The crew's sheet in words, in the language of the crew: short, so that it is read at arm's length."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from terrain.field.crew.barrow_squares import BarrowSquares, Lift
from terrain.field.crew.day import CrewDay, HoldPoint, Step, Task
from terrain.field.setout.model import SetOut, Stake
from terrain.field.setout.words import show_tape
from terrain.flow import Study
from terrain.language import Language
from terrain.limits import FOOT
from terrain.soil import PLANTING_SOIL
from terrain.units import Units, show_area, show_length, show_volume
from terrain.waterworks import tolerance_words

MOST_HOLDS, MOST_PLANKS = 5, 3  # told one by one
_FENCED = 6  # trees that the sheet names with their fences
CREST_STAKES = 4  # stakes that the sheet names: where the mound is highest


@dataclass(frozen=True)
class Row:
    """One step as it is printed: its name, what to mind, how much, and the hours of the crew."""

    name: str
    mind: str
    amount: str
    hours: str


def _steps(words: Language, units: Units) -> Mapping[Step, tuple[str, str]]:
    """Name of each step, and what to mind at it."""
    return {
        "locate": (words.say("Locate lines"), words.say("No digging before the marks of every buried line are there.")),
        "fence": (words.say("Fence the trees"), words.say("First of all work. Nobody and nothing inside.")),
        "set out": (words.say("Set out"), words.say("Stakes by setout.pdf. Read the benchmark twice.")),
        "strip": (
            words.say("Strip the sod"),
            words.say("Roots over {thick} thick: stop and call.", thick=_thick(units, words)),
        ),
        "dig": (words.say("Dig"), words.say("Basins, channels and trenches, by the stakes.")),
        "build": (
            words.say("Build"),
            words.say("By the squares on page 2, lift by lift, the far end first. Tread each lift once."),
        ),
        "shape": (
            words.say("Shape"),
            words.say("Rake to the stakes; thin out the edge; keep the foot of every trunk in sight."),
        ),
        "stream": (
            words.say("Lay the stream"),
            words.say("Sheet with slack; sills by the level, on firm ground; edges last, with the water running."),
        ),
        "check": (
            words.say("Check"),
            words.say("Levels at crest and edge before anybody leaves. Water runs away from the house."),
        ),
        "mulch": (words.say("Mulch"), words.say("None against a trunk. Water slowly. Take the fence down last.")),
    }


def _thick(units: Units, words: Language) -> str:
    return words.measure("1 in" if units == "ft" else "2.5 cm")


def title_words(words: Language) -> str:
    """What the sheet is called."""
    return words.say("Crew's sheet")


def grade_words(study: Study, words: Language) -> str:
    """Which grade every figure is of."""
    settles = study.site.soil.settlement
    if settles <= 0.0:
        return words.say("Grade: DAY ONE, as it is built.")
    share = words.measure(f"{100 * settles:g}")
    return words.say("Grade: DAY ONE, as it is built. The soil then settles by {share} %.", share=share)


def day_rows(study: Study, day: CrewDay, words: Language) -> list[Row]:
    """Every step of the day."""
    steps, units = _steps(words, study.site.units), study.site.units
    rows = []
    for task in day.tasks:
        name, mind = steps[task.step]
        more = {"build": _own_words(day, words), "strip": _sod_words(study, words)}.get(task.step, "")
        told = f"{mind} {more}".rstrip()
        rows.append(Row(name, told, _amount(study, day, task, words, units), _hours(task, day, words)))
    return rows


def _own_words(day: CrewDay, words: Language) -> str:
    """How many barrows come from the yard itself; "" for none."""
    own = day.squares.of_the_yard
    if not own:
        return ""
    return words.several("{n} barrow of it is the yard's own soil.", "{n} barrows of it are the yard's own soil.", own)


def _sod_words(study: Study, words: Language) -> str:
    """Where stone is brought, its truck takes the sod that leaves; "" else."""
    if not study.site.bed.sod_leaves or not (study.streams or study.site.retained_edge):
        return ""
    return words.say("Barrow it straight into the truck that brings the stone.")


def _hours(task: Task, day: CrewDay, words: Language) -> str:
    return hours_words(task.hours, day.people, words)


def _amount(study: Study, day: CrewDay, task: Task, words: Language, units: Units) -> str:
    if task.step == "fence":
        named = study.review.trees[:_FENCED]
        circles = ", ".join(f"{tree.name} {_far(tree.keep_off, units, words)}" for tree in named)
        if len(named) == len(study.review.trees):
            return circles
        return words.say("{trees}; all others in trees.pdf", trees=circles)
    if task.step in ("build", "stream"):
        return _counted(day, task, words)
    if task.amount is None or task.step == "set out":
        return ""
    if task.step == "strip":
        deep = show_length(study.site.bed.sod + study.site.bed.topsoil, units)
        return words.say(
            "{area}, {deep} deep", area=words.measure(show_area(task.amount, units)), deep=words.measure(deep)
        )
    return words.measure(show_area(task.amount, units) if task.step == "shape" else show_volume(task.amount, units))


def _counted(day: CrewDay, task: Task, words: Language) -> str:
    """What is counted: barrows of soil, or the sills of streams."""
    if task.step == "stream":
        return words.several("{n} sill", "{n} sills", int(task.amount or 0))
    return barrow_words(day.squares.bought + day.squares.of_the_yard, words)


def _far(metres: float, units: Units, words: Language) -> str:
    return words.measure(show_length(metres, units, "distance"))


def barrow_words(number: int, words: Language) -> str:
    """ "163 barrows"."""
    return words.several("{n} barrow", "{n} barrows", number)


def hours_words(hours: tuple[float, float, float] | None, people: int, words: Language) -> str:
    """Hours on the clock for the whole crew, "4 h (2.5 to 8)"; "" where no rate is known."""
    if hours is None:
        return ""
    quick, likely, slow = (words.measure(_clock(one / people)) for one in hours)
    if quick == slow:
        return words.say("{likely} h", likely=likely)
    return words.say("{likely} h ({quick} to {slow})", likely=likely, quick=quick, slow=slow)


def _clock(hours: float) -> str:
    """Hours in halves, never less than half an hour; whole from ten on."""
    return f"{hours:.0f}" if hours >= 9.75 else f"{max(0.5, round(2.0 * hours) / 2.0):g}"


def total_words(day: CrewDay, words: Language) -> tuple[str, str]:
    """Who works, and the hours of all steps that have any."""
    people = words.several("All steps with hours, {n} person", "All steps with hours, {n} people", day.people)
    return people, hours_words(day.hours, day.people, words)


def hold_lines(day: CrewDay, units: Units, words: Language) -> list[str]:
    """The stops that need a yes: the first few one by one, and how many more there are."""
    lines = [hold_words(hold, units, words) for hold in day.holds[:MOST_HOLDS]]
    more = len(day.holds) - len(lines)
    if more:
        lines.append(words.say("{n} more: see review.pdf.", n=more))
    return lines


def hold_words(hold: HoldPoint, units: Units, words: Language) -> str:
    """One stop that needs a yes."""
    if hold.kind == "review":
        return words.several(
            "review.pdf has {n} stop: do not begin before it is closed.",
            "review.pdf has {n} stops: do not begin before they are closed.",
            int(hold.name),
        )
    if hold.kind == "tree":
        far = _far(hold.keep_off, units, words)
        return words.say("{name}: an arborist's yes for work over its roots; fence at {far}.", name=hold.name, far=far)
    told: Mapping[str, Callable[[], str]] = {
        "buried line": lambda: words.say("{name}: marked and seen; dig by hand beside it.", name=hold.name),
        "overhead line": lambda: words.say("{name}: nothing long upright under it.", name=hold.name),
        "wall": lambda: words.say("{name}: ask the permit office before stones are laid.", name=hold.name),
    }
    return told[hold.kind]()


def way_words(study: Study, day: CrewDay, words: Language) -> list[str]:
    """Where the heap stands, how wide the gate is, where planks lie."""
    way, units = day.way, study.site.units
    lines = [_heap_words(study, day, words)]
    if way.gate is not None:
        lines.append(
            words.say("Gate: {wide} wide. Measure the barrow.", wide=words.measure(show_length(way.gate, units)))
        )
    for tree, length in way.planks[:MOST_PLANKS]:
        far = _far(length, units, words)
        lines.append(words.say("Planks for {far} of the way, over the roots of {tree}.", far=far, tree=tree))
    if way.length is None and study.review.trees:
        near = max(study.review.trees, key=lambda tree: tree.root_zone)
        far = _far(near.root_zone, units, words)
        lines.append(
            words.say(
                "Planks under barrows within {far} of {tree}, and likewise at other trees.", far=far, tree=near.name
            )
        )
    return lines


def _heap_words(study: Study, day: CrewDay, words: Language) -> str:
    if not day.way.heaps:
        return words.say(
            "Heap: on hard ground, off roots, never against a trunk. Agree on the place before the truck comes."
        )
    if day.way.length is None:
        return words.say("Heap: {name}.", name=day.way.heaps[0])
    far = _far(day.way.length, study.site.units, words)
    return words.say("Heap: {name}, {far} to the mound.", name=day.way.heaps[0], far=far)


def stake_words(stakes: SetOut, units: Units, words: Language) -> list[tuple[str, str]]:
    """The stakes where the mound is highest, and how much is built there."""
    highest = sorted(stakes.stakes, key=lambda stake: -stake.build)[:CREST_STAKES]
    return [
        (stake.name, words.say("fill {depth}", depth=_deep(stake, units, words)))
        for stake in highest
        if stake.build > 0.0
    ]


def sill_lines(study: Study, words: Language) -> list[str]:
    """What every sill of every stream is set to on day one, and how near to it."""
    units, lines = study.site.units, []
    for needs in study.streams:
        levels = (
            f"{_sill_name(sill.name, words)} {words.measure(show_length(sill.day_one, units, 'sill'))}"
            for sill in needs.materials.parts.sills
        )
        named = ", ".join(level.replace(" ", "\u00a0") for level in levels)
        lines.append(words.say("{stream}: {sills}.", stream=needs.materials.name, sills=named))
    if lines:
        near = words.measure(tolerance_words(units))
        lines.append(words.say("Each level, to {near}; a spill stone a touch low at its front.", near=near))
    return lines


def _sill_name(name: str, words: Language) -> str:
    """ "top", "drop 1", "pool 1" or "end"."""
    kind, _, number = name.partition(" ")
    told: Mapping[str, Callable[[], str]] = {
        "top": lambda: words.word("sill of a stream", "top"),
        "drop": lambda: words.say("drop {n}", n=number),
        "pool": lambda: words.say("pool {n}", n=number),
        "end": lambda: words.word("sill of a stream", "end"),
    }
    return told[kind]()


def _deep(stake: Stake, units: Units, words: Language) -> str:
    return words.measure(show_length(stake.build, units))


def decide_words(words: Language) -> list[str]:
    """Who decides what."""
    return [
        words.say("Roots, branches, fence: the arborist."),
        words.say("Buried lines: whoever marked them."),
        words.say("Walls, permits, lot line: the permit office."),
        words.say("Height and shape: the designer. The stakes decide, not the count of barrows."),
        words.say("Rain, heat, thunder, wet soil: the foreman stops the work."),
    ]


def squares_words(squares: BarrowSquares, units: Units, words: Language) -> list[str]:
    """How the squares lie, and what a barrow is."""
    side = words.measure(show_tape(squares.side, units))
    lines = []
    if squares.frame.start:
        lines.append(
            words.say(
                "Squares of {side} along the string from {start} to {end}.",
                side=side,
                start=squares.frame.start,
                end=squares.frame.end,
            )
        )
        station = words.measure(show_tape(squares.station, units))
        away = words.measure(show_tape(abs(squares.offset), units))
        lines.append(
            words.say("First corner of A1: {station} along, {away} to the left.", station=station, away=away)
            if squares.offset >= 0.0
            else words.say("First corner of A1: {station} along, {away} to the right.", station=station, away=away)
        )
    else:
        lines.append(words.say("Squares of {side}, laid along x and y.", side=side))
    held = words.measure(_held(squares.barrow, units))
    lines.append(
        words.say("A barrow: {held}, not stated. Fill one from a box to be sure.", held=held)
        if squares.assumed
        else words.say("A barrow: {held}. Fill one from a box to be sure.", held=held)
    )
    lines.append(words.say("Crosses: the highest stakes."))
    return lines


def _held(barrow: float, units: Units) -> str:
    """What a barrow holds, in the unit that it is sold by."""
    return f"{barrow / FOOT**3:.1f}".removesuffix(".0") + " cu ft" if units == "ft" else f"{1000.0 * barrow:.0f} L"


def lift_words(lift: Lift, units: Units, words: Language) -> tuple[str, str]:
    """Both lines of a heading: "Lift 2: 46 barrows" and "bought soil, 6 1/2 in loose"."""
    barrows = barrow_words(lift.total, words)
    depth = words.measure(show_length(lift.depth, units))
    return (
        words.say("Lift {number}: {barrows}", number=lift.number, barrows=barrows),
        words.say("{soil}, {depth} loose", soil=soil_words(lift, words), depth=depth),
    )


def soil_words(lift: Lift, words: Language) -> str:
    """Whose soil a lift is."""
    if lift.comes == "yard":
        return words.say("the yard's own soil")
    return words.say("planting soil") if lift.name == PLANTING_SOIL else words.say("bought soil")
