"""What each sign says: one plain sentence with the measured figure, and one line that would help."""

from __future__ import annotations

from collections.abc import Callable


def _percent(value: float) -> str:
    return f"{100.0 * value:.0f} %"


def _times_as_wide(value: float) -> str:
    return f"{1.0 / value:.1f} times as wide as it is high" if value > 0.0 else "without height"


SENTENCES: dict[str, Callable[[float], str]] = {
    "cone": lambda v: f"Seen from above, the contours are {_percent(v)} round about one middle.",
    "straight_faces": lambda v: f"The sides stand at one straight slope over {_percent(v)} of the face.",
    "sharp_toe": lambda v: f"At the edge the ground rises at once with {_percent(v)} of the side slope.",
    "flat_top": lambda v: f"Level ground takes {_percent(v)} of the upper half.",
    "sharp_peak": lambda v: f"The ground falls every way from the top, at {_percent(v)} of the side slope or more.",
    "too_tall": lambda v: f"The mound is {_times_as_wide(v)}.",
    "same_all_round": lambda v: f"The mound repeats itself, mirrored or turned, to {_percent(v)} of its height.",
    "loaf": lambda v: f"The cross section stays the same over {_percent(v)} of the length.",
    "parallel_contours": lambda v: f"Contours run straight, side by side, over {_percent(v)} of the face.",
    "stepped": lambda v: f"On the way up the slope gives out by {_percent(v)} and picks up again, like a step.",
    "holds_water": lambda v: f"Water could stand behind the soil, up to {_percent(v)} of the mound's height deep.",
}

SUGGESTIONS: dict[str, str] = {
    "cone": "Move the high point off the middle and let one end run out long.",
    "straight_faces": "Let the slope vary: gentler on one side, rounded at the top.",
    "sharp_toe": "Ease the toe into the ground over a wider strip.",
    "flat_top": "Round the top and give it a high point away from the middle.",
    "sharp_peak": "Round the crest, or add a second, lower high point beside it.",
    "too_tall": "Lower the mound or widen the bed.",
    "same_all_round": "Make the two sides unlike: move a high point, or change its height.",
    "loaf": "Let height and width change along the crest: a high point, a saddle, a long low end.",
    "parallel_contours": "Bend the crest or the outline so that the contours swing.",
    "stepped": "Run the steps together into one slope that changes gently.",
    "holds_water": "Open the bowl on its low side, or fill it, so that water runs off.",
}
