"""What somebody types, read into an answer: each function takes the text and the answers so far."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from terrain.errors import InputError
from terrain.interview.answers import SIDES, WAYS, Answers, AskedTree, Side
from terrain.limits import HIGHEST_CREST, ROD, THICKEST_TRUNK
from terrain.site import read_outline
from terrain.survey import Folder, Place, side_of, two_tapes
from terrain.units import Units, as_written, parse_length, parse_slope, parse_volume, show_length

UNKNOWN = {"", "?", "don't know", "dont know", "do not know", "no idea", "not known", "unknown"}
_BY = re.compile(r"\s*(?:\bby\b|[x×*])\s*", re.IGNORECASE)
_BARE = re.compile(r"\s*[-+]?[\d.]+(?:\s+\d+/\d+|/\d+)?\s*")
LEAST_BED, MOST_BED = 0.9, 90.0  # metres, a side of a bed: common practice, no published source
_ROOM = 0.4  # metres on either side of the middle of a bed that can carry a mound at all
FARTHEST = 150.0  # metres from the bed's first corner: common practice, no published source
_UNITS: dict[str, Units] = {
    **dict.fromkeys(("ft", "feet", "foot", "in", "inches", "'"), "ft"),
    **dict.fromkeys(("m", "metre", "metres", "meter", "meters", "cm"), "m"),
}
MOWN, PLANTED = "5:1", "4:1"


def is_unknown(text: str) -> bool:
    """Whether a text says that nobody knows, or nothing."""
    return " ".join(text.casefold().replace("’", "'").split()) in UNKNOWN


def _word(text: str) -> str:
    return " ".join(text.casefold().split())


def small_unit(so_far: Answers) -> str:
    """What bare numbers of girths, heights and rulers are in."""
    return "in" if so_far.units == "ft" else "cm"


def length(text: str, units: Units, least: float, most: float, bare: str = "") -> float:
    """A length in metres from `least` to `most`; `bare`: the unit of a bare number where it is not the site's."""
    metres = parse_length(f"{text} {bare}" if _BARE.fullmatch(text) else text, units, "")
    if not least <= metres <= most:
        ends = " to ".join(show_length(end, units, "distance") for end in (least, most))
        raise InputError("", f"{as_written(text)} is out of range.", f"Accepted: {ends}.")
    return metres


def taped_length(text: str, units: Units) -> float:
    """A length that is taped in a yard, metres."""
    return length(text, units, 0.1, FARTHEST)


def parts(text: str, count: int, accepted: str) -> list[str]:
    """The figures of a line: between commas, or blanks where every figure is bare."""
    found = [part.strip() for part in re.split(r"[,;\t]", text)]
    if len(found) == 1:
        found = text.split()
    if len(found) != count or not all(found):
        raise InputError("", f"{as_written(text)} holds {len(found)} figures.", accepted)
    return found


def units(text: str, so_far: Answers) -> Answers:
    """Feet or metres."""
    if _word(text) not in _UNITS:
        raise InputError("", f"{as_written(text)} is no unit of a tape.", "Accepted: ft or m.")
    return replace(so_far, units=_UNITS[_word(text)])


def bed(text: str, so_far: Answers) -> Answers:
    """Length and width at once, or one more corner."""
    sides = _BY.split(text.strip())
    if len(sides) == 2 and not so_far.bed:
        long, wide = (length(side, so_far.units, LEAST_BED, MOST_BED) for side in sides)
        return replace(so_far, bed=((0.0, 0.0), (long, 0.0), (long, wide), (0.0, wide)))
    accepted = 'Accepted: length by width, such as "26 by 12"; or corners, one a line, along and out, such as "4, 6".'
    x, y = (length(part, so_far.units, -FARTHEST, FARTHEST) for part in parts(text, 2, accepted))
    return replace(so_far, bed=(*so_far.bed, (x, y)))


def check_bed(so_far: Answers) -> None:
    """Raise `InputError` where the corners make no bed that can carry a mound."""
    if not so_far.bed:
        return
    from numpy import array

    outline = read_outline(array(so_far.bed), so_far.units, Folder(Path()))
    if outline.buffer(-_ROOM).is_empty:
        narrow = show_length(2.0 * _ROOM, so_far.units, "distance")
        raise InputError("", f"the bed is narrower than {narrow} all over.", "Accepted: one that can carry a mound.")


def measured(text: str, so_far: Answers) -> Answers:
    """How the ground was measured."""
    found = next((way for way in WAYS if _word(text) in (way, way.rstrip("s"), way[:1])), None)
    if found is None:
        raise InputError("", f"{as_written(text)} is no way of measuring.", f"Accepted: {', '.join(WAYS)}.")
    return replace(so_far, measured=found, shots=(), again=None)


def reading(text: str, so_far: Answers) -> float:
    """One reading in metres: off a ruler in inches or centimetres, else in the site's units."""
    bare = small_unit(so_far) if so_far.measured == "string" else ""
    if so_far.downward:
        return length(text, so_far.units, 0.0, ROD.value, bare)
    return length(text, so_far.units, -9000.0, 9000.0)


def shot(text: str, so_far: Answers) -> Answers:
    """One more place and what was read there."""
    accepted = 'Accepted: along, out, reading, such as "4, 6, 4.32"; "drop 3" takes row 3 out.'
    x, y, read = parts(text, 3, accepted)
    places = [length(part, so_far.units, -FARTHEST, FARTHEST) for part in (x, y)]
    if any(abs(places[0] - old[0]) + abs(places[1] - old[1]) < 0.005 for old in so_far.shots):
        raise InputError("", f"{as_written(text)} stands where an earlier one does.", "Accepted: another place.")
    return replace(so_far, shots=(*so_far.shots, (places[0], places[1], reading(read, so_far))))


def again(text: str, so_far: Answers) -> Answers:
    """What the first place reads at the end."""
    return replace(so_far, again=reading(text, so_far))


def side(text: str) -> Side:
    """A side of the bed."""
    found = next((one for one in SIDES if _word(text).split()[:1] == [one]), None)
    if found is None:
        raise InputError("", f"{as_written(text)} is no side of the bed.", f"Accepted: {', '.join(SIDES)}.")
    return found


def high(text: str, so_far: Answers) -> Answers:
    """The side of the bed that is high."""
    return replace(so_far, high=side(text))


def house(text: str, so_far: Answers) -> Answers:
    """The side on which the house stands, and how far from the bed."""
    accepted = 'Accepted: a side and how far from the bed, such as "far 12"; "none".'
    if _word(text) in ("none", "no", "no house"):
        return replace(so_far, house=None)
    words = text.replace(",", " ").split(maxsplit=1)
    if len(words) != 2 or words[0].casefold() not in ("near", "far", "left", "right"):
        raise InputError("", f"{as_written(text)} does not say where the house is.", accepted)
    return replace(so_far, house=(side(words[0]), length(words[1], so_far.units, 0.0, FARTHEST)))


def tree(text: str, so_far: Answers) -> Answers:
    """One more tree: name, girth, and tapes from the first two corners of the bed, or from two that are named."""
    accepted = (
        'Accepted: name, girth, tape from the first corner, tape from the second, such as "oak, 57 in, 18, 21", or '
        'from the ends of another side, "oak, 57 in, B 18, C 21"; add ", near" where it stands on the other side of '
        'the line between those corners than the bed; "drop 1" takes row 1 out.'
    )
    found = [part.strip() for part in text.split(",")]
    near = len(found) == 5 and _word(found[4]) == "near"
    if len(found) != 4 + near or not all(found):
        raise InputError("", f"{as_written(text)} is no tree by girth and two tapes.", accepted)
    # A girth in a bare number is read in inches or centimetres, as a tape round a trunk shows it.
    girth = length(found[1], so_far.units, 0.05, 3.0 * THICKEST_TRUNK.value, small_unit(so_far))
    corners, tapes = zip(*(_tape(part, so_far, number) for number, part in enumerate(found[2:4])), strict=True)
    if (corners[0] - corners[1]) % len(so_far.corners) not in (1, len(so_far.corners) - 1):
        raise InputError("", "the two tapes do not start from the ends of one side of the bed.", accepted)
    place = _taped(so_far, (so_far.corners[corners[0]], so_far.corners[corners[1]]), tapes, near)
    return replace(so_far, trees=(*so_far.trees, AskedTree(found[0], girth, place)))


def corner_name(number: int) -> str:
    """What the corner of the bed with a number from 0 on is called: A to Z, then A2 to Z2 and so on."""
    turn, letter = divmod(number, 26)
    return f"{chr(ord('A') + letter)}{turn + 1 if turn else ''}"


def _tape(text: str, so_far: Answers, number: int) -> tuple[int, float]:
    """The corner that a tape starts from, by its name, else that of a number; and the tape's length in metres."""
    named = re.fullmatch(r"([A-Za-z]\d{0,2})\s+(.+)", text)
    if named is None:
        return number, taped_length(text, so_far.units)
    names = [corner_name(k) for k in range(len(so_far.corners))]
    if named[1].upper() not in names:
        raise InputError("", f"the bed has no corner {named[1].upper()}.", f"Accepted: {names[0]} to {names[-1]}.")
    return names.index(named[1].upper()), taped_length(named[2], so_far.units)


def _taped(so_far: Answers, corners: tuple[Place, Place], tapes: Sequence[float], near: bool) -> Place:
    """The place that two tapes from the ends of a side of the bed give, on the bed's side of it or on the other."""
    first, second = corners
    places = two_tapes(first, second, tapes[0], tapes[1])
    if places is None:
        raise InputError("", "the two tapes do not meet.", "Accepted: tapes from the ends of one side of the bed.")
    middle = so_far.outline.centroid
    on_left = side_of(first, second, (middle.x, middle.y)) >= 0.0
    return places[0] if on_left != near else places[1]


def keep_off(text: str, so_far: Answers) -> Answers:
    """How near soil may come to a trunk."""
    return replace(so_far, keep_off=length(text, so_far.units, 0.3, 30.0))


def top(text: str, so_far: Answers) -> Answers:
    """How high the mound shall be."""
    return replace(so_far, top=length(text, so_far.units, 0.05, HIGHEST_CREST.value, small_unit(so_far)))


def slope(text: str, so_far: Answers) -> Answers:
    """How steep its sides may be."""
    words = {"mown": MOWN, "mow": MOWN, "planted": PLANTED, "plant": PLANTED}
    written = words.get(_word(text), text.strip())
    parse_slope(written, "")
    return replace(so_far, slope=written)


def price(text: str, so_far: Answers) -> Answers:
    """Of a cubic yard or m3 of soil."""
    try:
        money = float(text.strip().lstrip("$€£").replace(",", ""))
    except ValueError:
        money = -1.0
    if not 0.0 <= money <= 10_000.0:
        raise InputError("", f"{as_written(text)} is no price.", "Accepted: a number, such as 42.50.")
    return replace(so_far, price=money)


def truck(text: str, so_far: Answers) -> Answers:
    """What one load holds, loose."""
    load = parse_volume(text, so_far.units, "")
    if not 0.2 <= load <= 40.0:
        raise InputError("", f"{as_written(text)} is no truck of soil.", 'Accepted: such as "10 cu yd" or "8 m3".')
    return replace(so_far, truck=load)


def dropped(rows: tuple[object, ...], text: str) -> tuple[object, ...] | None:
    """The rows without the one that "drop 3" names; None where the text says nothing of the kind."""
    found = re.fullmatch(r"drop\s+(\d{1,4})", _word(text))
    if found is None:
        return None
    number = int(found[1])
    if not 1 <= number <= len(rows):
        raise InputError("", f"there is no row {number}.", f"Accepted: 1 to {len(rows)}." if rows else "There is none.")
    return (*rows[: number - 1], *rows[number:])
