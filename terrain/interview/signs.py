"""Whether readings can be what they are said to be: the first place read twice, and which side of the bed is high."""

from __future__ import annotations

import math
from dataclasses import replace

from terrain.errors import InputError
from terrain.interview.answers import ACCURACY, TOWARD, Answers, Side, rise_of, side_of_rise
from terrain.units import as_written

FALLS = 0.005  # rise/run under which ground looks level: common practice, no published source
_AGREES = 3.0  # deviations of a difference of two shots: more is no chance


class AskAnewError(Exception):
    """The answers are to be given once more from an earlier question on."""

    def __init__(self, key: str, so_far: Answers) -> None:
        self.key, self.so_far = key, so_far
        super().__init__(key)


def moved(so_far: Answers) -> bool:
    """Whether the first place reads so otherwise at the end that the level has moved."""
    return abs(so_far.slip) > _AGREES * math.sqrt(2.0) * ACCURACY[so_far.measured]


def contradicts(so_far: Answers) -> bool:
    """Whether the readings rise away from the side that is said to be high."""
    slope, up = rise_of(so_far)
    if so_far.high is None or so_far.high == "level" or slope < FALLS:
        return False
    side = TOWARD[so_far.high]
    return up[0] * side[0] + up[1] * side[1] < 0.0


def falls_toward(so_far: Answers, side: Side) -> float:
    """Slope, rise/run, by which the readings fall to a side of the bed; 0.0 where they do not."""
    slope, up = rise_of(so_far)
    if slope < FALLS or side == "level":
        return 0.0
    toward = TOWARD[side]
    return max(0.0, -slope * (up[0] * toward[0] + up[1] * toward[1]))


def readings_words(so_far: Answers) -> str:
    """The contradiction in one sentence."""
    slope, up = rise_of(so_far)
    kind = "Taken as elevations" if so_far.measured == "elevations" else "Taken as readings down to the ground"
    return (
        f"{kind}, your shots rise by {100.0 * slope:.0f} % to the {side_of_rise(up)} side, and you say that the "
        f"{so_far.high} side is high."
    )


def settled_slip(text: str, so_far: Answers) -> Answers:
    """What is done about a level that has moved."""
    word = text.strip().casefold()
    if word == "anew":
        raise AskAnewError("shots", replace(so_far, shots=(), again=None))
    if word == "keep":
        return so_far
    raise InputError("", f"{as_written(text)} says neither.", "Accepted: anew or keep.")


def settled_sign(text: str, so_far: Answers) -> Answers:
    """What is done about readings that rise the wrong way."""
    word = text.strip().casefold()
    if word == "anew":
        raise AskAnewError("shots", replace(so_far, shots=(), again=None))
    if word == "other":
        return replace(so_far, measured="rod" if so_far.measured == "elevations" else "elevations")
    if word == "slip":
        return replace(so_far, high=None)
    raise InputError("", f"{as_written(text)} says none of these.", "Accepted: other, slip or anew.")
