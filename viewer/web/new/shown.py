"""Plain values that the page of a new yard draws from: metres along and out, words in the yard's units."""

from __future__ import annotations

import math
from collections.abc import Sequence

from terrain.field import next_untaken, told_first
from terrain.flow import Study
from terrain.ground import lie_of
from terrain.interview import Answers, Filled, corner_name, house_outline
from terrain.soil import sure_words, words as soil_words
from terrain.units import show_length, unit_length
from viewer.web import words
from viewer.web.live.frames import Plain, frame
from viewer.web.window import shown_window
from viewer.web.yard import base_of, levels_of, look_of

MOST_NODES = 160  # along the longer side of the ground shown: contours on a page need no more
Spot = tuple[float, float]


def state_of(filled: Filled) -> Plain:
    """Every question with what was typed and understood, what has to be settled, and the places of it all."""
    asked = {
        one.key: {"ask": one.ask, "taken": one.taken, "texts": one.texts, "told": one.told} for one in filled.heard
    }
    return {
        "units": filled.answers.units,
        "questions": asked,
        "waits": [{"key": key, "words": told} for key, told in filled.waits],
        "plan": _plan(filled.answers),
    }


def _plan(answers: Answers) -> Plain:
    corners = answers.corners if not answers.bed else answers.bed
    return {
        "given": bool(answers.bed),
        "corners": [{"name": corner_name(k), "at": list(at)} for k, at in enumerate(corners)],
        "shots": [{"name": str(k), "at": [x, y]} for k, (x, y, _) in enumerate(answers.shots, start=1)],
        "trees": [{"name": tree.name, "at": list(tree.at), "trunk": tree.girth / math.pi} for tree in answers.trees],
        "house": [list(at) for at in house_outline(answers)] if answers.house and len(corners) > 2 else [],
    }


def figures_of(study: Study, shots: Sequence[Spot]) -> Plain:
    """What is said of a yard that was worked through, and where the next shot does most; `shots` in metres."""
    site = study.site
    return {
        "headline": words.headline(site.units, study.order, study.proposal),
        "sure": list(sure_words(study.order, site.units)),
        "falls": lie_of(site, study.ground).text,
        "first": list(told_first(study)),
        "order": words.order_html(site, study.work, study.order, study.proposal),
        "limits": words.limits_html(site, study.proposal, study.review.trees),
        "look": words.look_html(study.review.look, site, study.proposal, (0.0, 0.0)),
        "next": _next(study, shots),
    }


def _next(study: Study, shots: Sequence[Spot]) -> Plain | None:
    """The next place to shoot, to half a foot or 10 cm so that a tape finds it, and what it is worth."""
    units = study.site.units
    place = next_untaken(study, shots)
    if place is None:
        return None
    unit, step = (unit_length("ft"), 0.5) if units == "ft" else (1.0, 0.1)
    along, out = (round(round(value / unit / step) * step, 4) + 0.0 for value in place.at)
    said = f"{show_length(along * unit, units, 'distance')} along, {show_length(out * unit, units, 'distance')} out"
    # Before there is a surface a place counts with those of the walk before it: the whole walk's worth is told instead.
    worth = soil_words.between(*place.order, units) if study.site.survey.measured else ""
    return {"at": [along * unit, out * unit], "along": f"{along:g}", "out": f"{out:g}", "words": said, "order": worth}


def frames_of(study: Study, told: Plain) -> tuple[bytes, bytes]:
    """The ground and the finished change of it about the bed as messages; `told` goes with the second."""
    shown = shown_window(study.site, study.ground.grid)
    every = math.ceil(max(shown.grid.nx, shown.grid.ny) / MOST_NODES)
    existing, proposed = (shown.of(one.elevation)[::every, ::every] for one in (study.ground, study.proposal))
    levels = levels_of(study.site.units, existing, proposed)
    base = base_of(levels, existing)
    look = look_of(study.site.units, levels, float(abs(proposed - existing).max()))
    look["measured"] = study.site.survey.measured
    grid = {"x0": shown.grid.x0, "y0": shown.grid.y0, "cell": every * shown.grid.cell, "base": base}
    ground = frame({"say": "ground", "grid": grid, "look": look}, existing - base)
    return ground, frame({"say": "figures", **told}, proposed - existing)
