"""The questions about a yard, as data: what is asked, what is taken where nobody knows, and how an answer is read."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from terrain.errors import InputError
from terrain.interview import reading
from terrain.interview.answers import Answers, rise_of, side_of_rise
from terrain.interview.signs import contradicts, falls_toward, moved, readings_words, settled_sign, settled_slip
from terrain.interview.written import TRUCK
from terrain.units import show_length, show_volume

Read = Callable[[str, Answers], Answers]
LEAST_SHOTS = 3


def _nobody_knows(so_far: Answers) -> Answers:
    return so_far


def _always(so_far: Answers) -> bool:
    return True


@dataclass(frozen=True)
class Question:
    """One question.

    Parameters
    ----------
    key
        The answer that it fills.
    ask
        What is asked, after the answers so far.
    taken
        What is taken where nobody knows, in words; "" where somebody has to say.
    read
        Reads what was typed; raises `InputError` with what would be accepted.
    told
        What was understood, in words.
    unknown
        The answers where nobody knows.
    asked
        Whether it is asked at all.
    rows
        For a question that takes a line for each thing: the rows so far. An empty line ends it.
    """

    key: str
    ask: Callable[[Answers], str]
    taken: Callable[[Answers], str]
    read: Read
    told: Callable[[Answers], str]
    unknown: Callable[[Answers], Answers] = _nobody_knows
    asked: Callable[[Answers], bool] = _always
    rows: Callable[[Answers], tuple[object, ...]] | None = None


def _long(so_far: Answers, metres: float) -> str:
    return show_length(metres, so_far.units, "distance")


def _size_words(so_far: Answers) -> str:
    if 0 < len(so_far.bed) < 3:
        x, y = so_far.bed[-1]
        return f"corner {len(so_far.bed)}: {_long(so_far, x)} along, {_long(so_far, y)} out"
    west, south, east, north = so_far.outline.bounds
    corners = f", {len(so_far.bed)} corners" if so_far.bed else ""
    return f"{_long(so_far, east - west)} along, {_long(so_far, north - south)} out{corners}"


def _shot_words(so_far: Answers) -> str:
    if not so_far.shots:
        return "no shots: the ground is taken as flat, with a wide range"
    x, y, read = so_far.shots[-1]
    places = f"{_long(so_far, x)} along, {_long(so_far, y)} out"
    shown = show_length(read, so_far.units, "depth" if so_far.measured == "string" else "elevation")
    return f"{len(so_far.shots)}: {places}, reads {shown}"


def _tree_words(so_far: Answers) -> str:
    if not so_far.trees:
        return "no tree"
    tree = so_far.trees[-1]
    place = f"{_long(so_far, tree.at[0])} along, {_long(so_far, tree.at[1])} out"
    return f"{len(so_far.trees)}: {tree.name}, {show_length(tree.girth, so_far.units)} round, {place}"


def _first_place(so_far: Answers) -> str:
    x, y, _ = so_far.shots[0]
    return f"{_long(so_far, x)} along, {_long(so_far, y)} out"


def _readings_asked(so_far: Answers) -> str:
    how = {"rod": "what the rod reads", "elevations": "elevation", "string": "from the string down to the ground"}
    small = "in" if so_far.units == "ft" else "cm"
    unit = f"{small} for the last" if so_far.measured == "string" else so_far.units
    return (
        f"Shots, one a line: along, out, {how.get(so_far.measured, 'reading')} ({unit}), such as "
        f'"4, 6, {"14" if so_far.measured == "string" else "4.32"}"; 20 or more, in the bed and just outside it. '
        '"drop 3" takes row 3 out; an empty line ends them'
    )


def _house_words(so_far: Answers) -> str:
    if so_far.house is None:
        return "no house near"
    side, away = so_far.house
    stands = f"the house stands on the {side} side, {_long(so_far, away)} from the bed"
    slope = falls_toward(so_far, side)
    if not slope:
        return stands
    return f"{stands}; by your readings the ground falls toward it by {100.0 * slope:.0f} %: look whether that is so"


def _small(so_far: Answers) -> str:
    return "inches" if so_far.units == "ft" else "cm"


QUESTIONS: tuple[Question, ...] = (
    Question(
        "units",
        lambda a: "Which unit does your tape have: ft or m?",
        lambda a: a.units,
        reading.units,
        lambda a: "feet and inches, cubic yards" if a.units == "ft" else "metres, m3",
    ),
    Question(
        "bed",
        lambda a: (
            f'The bed: its length by its width, such as "{"26 by 12" if a.units == "ft" else "8 by 4"}"; or its '
            "corners in order, one a line: along, out. Stand at its first corner and look along its long side: along "
            "is ahead, out is to your left"
        ),
        lambda a: _size_words(a),
        reading.bed,
        _size_words,
        lambda a: replace(a, bed=()),
        rows=lambda a: a.bed,
    ),
    Question(
        "measured",
        lambda a: (
            "How was the ground measured: rod (read down from one place of a level), elevations, string (from a level "
            "string down with a ruler), or no (not at all)?"
        ),
        lambda a: "no",
        reading.measured,
        lambda a: "not measured: the ground is taken as flat" if a.measured == "no" else a.measured,
        lambda a: replace(a, measured="no", shots=(), again=None),
    ),
    Question(
        "shots",
        _readings_asked,
        lambda a: "not measured",
        reading.shot,
        _shot_words,
        lambda a: replace(a, measured="no", shots=(), again=None),
        lambda a: a.measured != "no",
        lambda a: a.shots,
    ),
    Question(
        "again",
        lambda a: f"To check: the first place once more ({_first_place(a)}). What does it read now?",
        lambda a: "not read again",
        reading.again,
        lambda a: "it has moved" if moved(a) else "it agrees",
        asked=lambda a: len(a.shots) >= LEAST_SHOTS,
    ),
    Question(
        "keep",
        lambda a: (
            f"It reads {show_length(abs(a.slip), a.units)} {'more' if a.slip > 0 else 'less'} than at first: the level "
            "or the string has moved. Type the shots anew, or keep them and their doubt: anew or keep?"
        ),
        lambda a: "keep",
        settled_slip,
        lambda a: f"kept; each is taken as sure to {show_length(a.accuracy, a.units)}",
        asked=moved,
    ),
    Question(
        "high",
        lambda a: "Which side of the bed is high: near (where you stand), far, left, right, or level?",
        lambda a: "not known" if not a.shots else f"as the readings say: {side_of_rise(rise_of(a)[1])}",
        reading.high,
        lambda a: f"the {a.high} side is high" if a.high not in (None, "level") else "about level",
    ),
    Question(
        "sign",
        lambda a: (
            f"{readings_words(a)} Are they the other kind (other), was that a slip of yours (slip), or shall they be "
            "typed anew (anew)?"
        ),
        lambda a: "nothing: the shots are left out and the ground is taken as flat",
        settled_sign,
        lambda a: f"taken as {a.measured}; the {side_of_rise(rise_of(a)[1])} side is high" if a.shots else "left out",
        lambda a: replace(a, measured="no", shots=(), again=None),
        contradicts,
    ),
    Question(
        "house",
        lambda a: 'Where is the house: the side of the bed and how far from it, such as "far 12"; or none?',
        lambda a: "none",
        reading.house,
        _house_words,
        lambda a: replace(a, house=None),
    ),
    Question(
        "trees",
        lambda a: (
            f"Trees, one a line: name, girth ({_small(a)}, round the trunk at chest height), tape from the bed's first "
            f'corner, tape from its second, such as "oak, {"57" if a.units == "ft" else "145"}, '
            f'{"18, 21" if a.units == "ft" else "5.5, 6.4"}". An empty line ends them'
        ),
        lambda a: "no tree",
        reading.tree,
        _tree_words,
        lambda a: replace(a, trees=()),
        rows=lambda a: a.trees,
    ),
    Question(
        "keep_off",
        lambda a: f"How near a trunk may soil come ({a.units}; an arborist's word)?",
        lambda a: "nowhere on the root protection zone: 1 ft (30 cm) for each inch (2.5 cm) of trunk",
        reading.keep_off,
        lambda a: f"no soil within {_long(a, a.keep_off or 0.0)} of a trunk's centre",
        asked=lambda a: bool(a.trees),
    ),
    Question(
        "slope",
        lambda a: 'How steep may its sides be: mown, planted, or such as "3:1" (run:rise)?',
        lambda a: f"planted, {reading.PLANTED}",
        reading.slope,
        lambda a: f"{a.slope} at most",
    ),
    Question(
        "top",
        lambda a: f"How high shall the mound be over the ground ({_small(a)})?",
        lambda a: "about as high as that slope allows",
        reading.top,
        lambda a: show_length(a.top or 0.0, a.units),
    ),
    Question(
        "price",
        lambda a: f"What does a {'cubic yard' if a.units == 'ft' else 'm3'} of soil cost, loose?",
        lambda a: "no price",
        reading.price,
        lambda a: f"{a.price or 0.0:.2f}",
    ),
    Question(
        "truck",
        lambda a: f"How much does a truck bring ({'cu yd' if a.units == 'ft' else 'm3'})?",
        lambda a: show_volume(TRUCK[a.units], a.units),
        reading.truck,
        lambda a: show_volume(a.truck or 0.0, a.units),
    ),
)
# Asked only where an answer before them asks for it.
FOLLOW_UPS = ("again", "keep", "sign")


def enough(key: str, so_far: Answers) -> None:
    """Raise `InputError` where the rows of a question cannot be worked with as they stand."""
    if key == "bed":
        reading.check_bed(so_far)
    if key == "shots" and 0 < len(so_far.shots) < LEAST_SHOTS:
        count = f"{len(so_far.shots)} shot{'s' if len(so_far.shots) > 1 else ''}"
        raise InputError("", f"{count} cannot carry a surface.", f"Accepted: {LEAST_SHOTS} or more, or none.")
