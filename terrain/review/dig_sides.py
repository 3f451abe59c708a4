"""Sides of digs that something stops before they meet the ground: how high it stands there, and what has to hold it."""

from __future__ import annotations

from collections.abc import Iterator

from terrain.findings import Finding
from terrain.shape import LEAST_STEP, OPEN_END, Dig, SideStep
from terrain.units import Units, show_length, show_place

SOURCE = "the site file; a step over an inch needs a hold: common practice, no published source"


def side_findings(units: Units, digs: tuple[Dig, ...]) -> Iterator[Finding]:
    """One finding for each thing that stops the sides of a dig, at its highest step."""
    for dig in digs:
        for step in dig.steps:
            text = _text(dig.name, step, units)
            yield Finding("caution", "safety", text, step.height, LEAST_STEP, SOURCE, step.at)


def _text(name: str, step: SideStep, units: Units) -> str:
    high, place = show_length(step.height, units), show_place(*step.at, units)
    if step.stop == OPEN_END:
        return (
            f"A side of {name} is still {high} under the ground where the measured ground ends, near {place}. "
            "Shoot further out, or dig less deep there."
        )
    return (
        f"A side of {name} reaches {step.stop} before it meets the ground: near {place} {high} of ground is left "
        "standing upright. Something has to hold it, such as stones or boards set before the dig is opened; or move "
        "the dig, dig less deep, or give it steeper sides."
    )
