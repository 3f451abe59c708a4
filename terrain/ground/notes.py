"""What a reader must know of how the existing grade was made."""

from __future__ import annotations

import math

import numpy as np

from terrain.ground.choose import METHODS, FittedGround
from terrain.ground.kriging import FEWEST_TO_FIT
from terrain.ground.shots import DENSEST, MOST_SHOTS
from terrain.numerics import ENOUGH_TO_FIT, triangulated
from terrain.site import Site
from terrain.units import Units, show_length


def left_out_words(error: float, units: Units) -> str:
    """By how much left-out shots are missed (root mean square, metres); in words where none can be left out (nan)."""
    return "too few shots to tell" if math.isnan(error) else show_length(error, units, "elevation")


def count_words(site: Site, shots: int) -> str:
    """How many shots a ground is made of, and how many of them are a scan's."""
    scan = site.survey.scan
    if scan is None:
        return f"{shots or 'none'}"
    cells = int(np.count_nonzero(site.survey.scanned))
    return f"{shots - cells}, and {cells} of {scan.file}"


def method_words(method: str) -> str:
    """A surface of the ground as it is written in a site file and told everywhere: "thin plate"."""
    return method.replace("_", " ")


def ground_notes(site: Site, fitted: FittedGround) -> tuple[str, ...]:
    """One sentence for each thing that was assumed, merged or left coarse; none where nothing was."""
    came, stayed = len(site.survey.shots), fitted.shots.free
    notes = list(site.survey.notes)
    notes += _many(came, fitted) if came > MOST_SHOTS else _merged(site, fitted)
    notes += _creased(site, fitted)
    if stayed < FEWEST_TO_FIT:
        notes.append(f"With {stayed} shots the deviation is assumed, not measured; {FEWEST_TO_FIT} or more are needed.")
    if came <= MOST_SHOTS and stayed > ENOUGH_TO_FIT:
        notes.append(f"The covariance was fitted to {ENOUGH_TO_FIT} of the {stayed:,} shots, at random.")
    return tuple(notes)


def _many(came: int, fitted: FittedGround) -> list[str]:
    """How a survey of many thousand shots was taken."""
    means = f"their means in {fitted.shots.free:,} cells"
    if fitted.method == "thin_plate":
        return [f"The thin plate goes through the {came:,} shots by {means}."]
    notes = [f"The {came:,} shots were compared and judged by {means}; the surface goes through each of them."]
    if came > DENSEST:
        notes = [f"The surface goes through the {came:,} shots by their means in at most {DENSEST:,} cells."]
    if fitted.method == "kriging":
        notes.append("Each place is kriged from the hundred or so shots nearest to it.")
    return notes


def _creased(site: Site, fitted: FittedGround) -> list[str]:
    """How the surface takes the breaklines, and the shots that gave way to them."""
    lines = len(site.survey.breaklines)
    if not lines:
        return []
    count = "1 breakline" if lines == 1 else f"{lines} breaklines"
    if fitted.method != METHODS[0]:
        name = method_words(fitted.method).capitalize()
        text = f"{name} passes through {count} but cannot crease there; only the triangulation can."
    else:
        text = f"The triangulation creases along {count}; the smooth methods cannot, and were not considered."
    return [text, *_given_way(site, fitted)]


def _given_way(site: Site, fitted: FittedGround) -> list[str]:
    """A sentence for each shot on a breakline whose elevation is another than the line's."""
    shots, survey = fitted.shots, site.survey
    notes = []
    for row in np.flatnonzero(shots.groups >= shots.free):
        height = triangulated(fitted.tin, shots.all_places[row : row + 1])[0]
        off = float(shots.all_heights[row] - height)
        if abs(off) > 3.0 * max(survey.accuracy, 1e-3):
            size, side = show_length(abs(off), site.units, "elevation"), "above" if off > 0 else "below"
            notes.append(f"Shot {survey.names[row]} stands on a breakline and {size} {side} it; the line is used.")
    return notes


def _merged(site: Site, fitted: FittedGround) -> list[str]:
    """A sentence for each place that was shot more than once."""
    groups, names = fitted.shots.groups, site.survey.names
    notes = []
    for row in np.flatnonzero(np.bincount(groups)[: fitted.shots.free] > 1):
        together = np.flatnonzero(groups == row)
        heights = site.survey.shots[together, 2]
        apart = show_length(float(np.ptp(heights)), site.units, "elevation")
        who = ", ".join(names[shot] for shot in together[:-1]) + f" and {names[together[-1]]}"
        notes.append(f"Shots {who} stand in one place and differ by {apart}; their mean is used.")
    return notes
