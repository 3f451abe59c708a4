"""A cause in words: what it is, how much of the misfit goes with it, and what to do."""

from __future__ import annotations

import math
from collections.abc import Iterator

from terrain.field.asbuilt.model import Cause, Missing
from terrain.findings import Finding
from terrain.flow import Study
from terrain.limits import PRACTICE
from terrain.units import Units, show_length, show_side, show_volume


def cause_words(cause: Cause, units: Units) -> str:
    """ "the whole mound stands 14 in north-east of the plan", without a full stop; a slip is told elsewhere."""
    if cause.kind == "as planned":
        return "none: it is built as planned"
    if cause.kind == "share":
        return _share_words(cause, units)
    if cause.kind == "shifted":
        away = show_length(math.hypot(cause.east, cause.north), units)
        return f"the whole mound stands {away} {show_side(cause.east, cause.north)} of the plan"
    size = show_length(abs(cause.level), units)
    if cause.kind == "benchmark":
        return f"the benchmark has slipped by {size}"
    if cause.explains == 0.0:
        return f"no one cause: the worst place is {size} {'low' if cause.level < 0.0 else 'high'}"
    wide = show_length(2.0 * cause.radius, units, "distance")
    return f"one place about {wide} across is {size} {'low' if cause.level < 0.0 else 'high'} in its middle"


def _share_words(cause: Cause, units: Units) -> str:
    if cause.layer:
        layer = show_length(abs(cause.layer), units)
        return f"an even layer of {layer} {'is missing' if cause.layer > 0.0 else 'too much lies'} everywhere"
    word = "low" if cause.share > 0.0 else "high"
    return f"the fill is {100 * abs(cause.share):.0f} % of its height too {word} everywhere"


def cause_finding(study: Study, cause: Cause, tolerance: float, missing: Missing) -> Iterator[Finding]:
    """A cause that explains the shots and is no slip, with what follows from it."""
    if cause.kind not in ("share", "shifted") and not (cause.kind == "local" and cause.explains > 0.0):
        return
    units = study.site.units
    told = cause_words(cause, units)
    volumes = (
        f"{show_volume(missing.missing, units, 'placed')} is missing, {show_volume(missing.surplus, units)} too much"
    )
    yield Finding(
        "caution",
        "shape",
        f"{told[0].upper()}{told[1:]}: that alone explains {100 * cause.explains:.0f} % of how the shots stand off. "
        f"{_advice(cause)} With it {volumes}.",
        _size(cause),
        tolerance,
        PRACTICE,
        cause.at,
    )


def _size(cause: Cause) -> float:
    return {"share": cause.share, "shifted": math.hypot(cause.east, cause.north)}.get(cause.kind, cause.level)


def _advice(cause: Cause) -> str:
    if cause.kind == "shifted":
        return (
            "Check the known points that the tapes hang on, and the coordinates of the shots, before any soil is moved."
        )
    if cause.kind == "share":
        low = "A lift was forgotten" if cause.layer else "It has settled, or was not built up to day one"
        return f"{low}: top it up everywhere alike." if cause.share > 0.0 else "Rake it down everywhere alike."
    return "Fill it up." if cause.level < 0.0 else "Rake it down."
