"""Shots that do not agree with their neighbours."""

from __future__ import annotations

from terrain.ground.kriging import Kriging
from terrain.ground.model import DoubtfulShot
from terrain.ground.shots import LocalShots
from terrain.site.model import Survey
from terrain.units import Units, show_length

_SUSPECT = 4.0  # standard deviations


def doubtful_shots(
    survey: Survey, units: Units, shots: LocalShots, process: Kriging
) -> tuple[DoubtfulShot, ...]:
    """Shots whose leave-one-out residual is out of proportion to its own deviation, the worst first."""
    score = process.residuals / process.expected
    found = []
    for row in sorted(range(len(score)), key=lambda at: -abs(score[at])):
        if abs(score[row]) < _SUSPECT:
            break
        found += [
            _named(survey, units, int(shot), process.residuals[row], process.expected[row])
            for shot in range(len(survey.names))
            if shots.groups[shot] == row
        ]
    return tuple(found)


def _named(survey: Survey, units: Units, shot: int, residual: float, expected: float) -> DoubtfulShot:
    """The finding about one shot, in a sentence."""
    side = "above" if residual > 0 else "below"
    size = show_length(abs(residual), units, "elevation")
    east, north = (float(v) for v in survey.shots[shot, :2])
    return DoubtfulShot(
        name=survey.names[shot],
        at=(east, north),
        residual=float(residual),
        deviation=float(expected),
        text=f"Shot {survey.names[shot]} stands {size} {side} its neighbours.",
    )
