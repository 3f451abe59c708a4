"""What each sign says: one plain sentence with the measured figure, and one line that would help."""

from __future__ import annotations

from collections.abc import Callable

from terrain.limits import FOOT
from terrain.units import Units


def _percent(value: float) -> str:
    return f"{100.0 * value:.0f} %"


def _times_as_wide(value: float) -> str:
    return f"{1.0 / value:.1f} times as wide as it is high" if value > 0.0 else "without height"


def far_words(units: Units | None) -> Callable[[float], str]:
    """How a length in metres is said, no finer than an eye judges it: in the yard's own unit; None: in both."""

    def feet(metres: float) -> str:
        return f"{metres / FOOT:.0f} ft" if metres >= 1.5 * FOOT else f"{12.0 * metres / FOOT:.0f} in"

    def own(metres: float) -> str:
        return f"{metres:.1f} m" if metres >= 0.495 else f"{100.0 * metres:.0f} cm"

    return {"ft": feet, "m": own}.get(units or "", lambda metres: f"{feet(metres)} ({own(metres)})")


SENTENCES: dict[str, Callable[[float], str]] = {
    "cone": lambda v: f"One profile all round one top explains {100.0 * v:.1f} % of the relief: it reads as a heap.",
    "straight_faces": lambda v: f"The sides stand at one straight slope over {_percent(v)} of the face or more.",
    "sharp_toe": lambda v: (
        f"Over the outermost twentieth of its half width the edge rises with {_percent(v)} of the side slope."
    ),
    "flat_top": lambda v: f"Level ground takes {_percent(v)} of the upper half or more.",
    "sharp_peak": lambda v: f"The ground falls every way from the top, at {_percent(v)} of the side slope or more.",
    "too_tall": lambda v: f"The mound is {_times_as_wide(v)}.",
    "same_all_round": lambda v: f"The mound repeats itself, mirrored or turned, to {_percent(v)} of its height.",
    "loaf": lambda v: f"The cross section stays the same over {_percent(v)} of the length.",
    "parallel_contours": lambda v: f"Contours run straight, side by side, over {_percent(v)} of the face.",
    "stepped": lambda v: f"On the way up the slope gives out by {_percent(v)} and picks up again, like a step.",
    "holds_water": lambda v: f"Water could stand behind the soil, up to {_percent(v)} of the mound's height deep.",
    "same_section": lambda v: f"Along the crest the section departs from one even shape by {_percent(1.0 - v)} only.",
    "equal_bumps": lambda v: f"The tops are alike in height and in spacing to {_percent(v)}.",
    "follows_outline": lambda v: f"The contours follow the edge or the bed line to {100.0 * v:.1f} %.",
    "mirrored": lambda v: f"One half is the mirror image of the other to {_percent(v)}.",
    "ripples": lambda v: f"One even wave makes {_percent(v)} of the fine relief.",
    "spike": lambda v: f"A corner of the bed runs {_percent(v)} of the bed's half width past where a mound has room.",
}

# Each takes the height of the mound and its width across, metres, and how a length is said.
SUGGESTIONS: dict[str, Callable[[float, float, Callable[[float], str]], str]] = {
    "cone": lambda h, w, far: (
        f"Draw the crest out {far(0.6 * w)} along the bed, its top near one end, or add a lower top."
    ),
    "straight_faces": lambda h, w, far: (
        f"Let the slope vary: run one side out {far(0.2 * w)} farther, and round the top."
    ),
    "sharp_toe": lambda h, w, far: f"Ease the toe into the ground over {far(0.15 * w)}.",
    "flat_top": lambda h, w, far: f"Round the top, and raise one place off its middle by {far(0.15 * h)}.",
    "sharp_peak": lambda h, w, far: f"Round the crest, or add a second top {far(0.25 * h)} lower, {far(0.4 * w)} away.",
    "too_tall": lambda h, w, far: (
        f"Lower the mound by {far(max(h - 0.2 * w, 0.1 * h))}, or widen it to {far(5.0 * h)}."
    ),
    "same_all_round": lambda h, w, far: f"Make the sides unlike: move a high point {far(0.2 * w)}, or lower an end.",
    "loaf": lambda h, w, far: (
        f"Let the crest rise and fall by {far(0.35 * h)}, and the width change by {far(0.3 * w)}."
    ),
    "parallel_contours": lambda h, w, far: (
        f"Bend the crest or the outline by {far(0.2 * w)}, so that the contours swing."
    ),
    "stepped": lambda h, w, far: "Run the steps together into one slope that changes gently.",
    "holds_water": lambda h, w, far: f"Open the bowl on its low side, {far(0.2 * w)} wide or more, or fill it.",
    "same_section": lambda h, w, far: (
        f"Lower part of the crest by {far(0.35 * h)}, and narrow it there by {far(0.3 * w)}."
    ),
    "equal_bumps": lambda h, w, far: (
        f"Move one top {far(0.4 * w)} toward the next, and lower another by {far(0.35 * h)}."
    ),
    "follows_outline": lambda h, w, far: (
        f"Swing the crest {far(0.2 * w)} off the middle of the bed, and lower one end."
    ),
    "mirrored": lambda h, w, far: f"Move one top {far(0.25 * w)}, or let one end run out twice as long.",
    "ripples": lambda h, w, far: "Rake the ripples out, or let their length and height change from one to the next.",
    "spike": lambda h, w, far: f"Round the corner off, or move it back by {far(0.3 * w)} or more.",
}
