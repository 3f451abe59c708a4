"""Which shots to read again first: the likeliest blunders, called doubtful or not, and what each does to the soil."""

from __future__ import annotations

import numpy as np

from terrain.grid import Array
from terrain.ground.choose import FittedGround
from terrain.ground.model import ReadAgain
from terrain.numerics import krige_with, mean_and_deviation, unheeded
from terrain.site import Survey
from terrain.units import Units, show_length, show_volume

MOST = 3  # shots named
_UNSEEN = 0.01  # m3: a tenth of a barrow


def read_again(survey: Survey, fitted: FittedGround, bed: Array) -> tuple[ReadAgain, ...]:
    """The shots with the greatest odds of being blunders, the greatest first; none beside breaklines.

    Parameters
    ----------
    survey
        As it was read.
    fitted
        The surfaces through its shots.
    bed
        (m, 2) places in the shots' frame that stand for the bed.
    """
    shots, likely = fitted.shots, fitted.likely
    if len(shots.edges) or shots.thinned or not likely.odds.any():
        return ()
    process = likely.likeliest
    before = mean_and_deviation(process, bed)[0]
    found = []
    for row in np.argsort(-likely.odds, kind="stable")[:MOST]:
        error = unheeded(process.error, process.heights, [int(row)])
        without = krige_with(process.places, process.heights, error, process.covariance)
        shot = int(np.flatnonzero(shots.groups == row)[0])
        change = mean_and_deviation(without, bed)[0] - before
        at = (float(survey.shots[shot, 0]), float(survey.shots[shot, 1]))
        residual = float(without.residuals[row])
        heeded = int(row) not in likely.aside or not shots.error.any()
        found.append(ReadAgain(survey.names[shot], at, residual, float(likely.odds[row]), change, heeded))
    return tuple(found)


def again_words(shot: ReadAgain, bed_area: float, units: Units) -> str:
    """A shot to read again in one sentence: its odds, how it stands, and what the mound would take without it."""
    side = "above" if shot.residual > 0.0 else "below"
    text = f"{odds_words(shot.odds)}; {show_length(abs(shot.residual), units, 'elevation')} {side} its neighbours; "
    if not shot.heeded:
        return f"{text}the kriged ground does not heed it."
    soil, more = abs(shot.change) * bed_area, "less" if shot.change > 0.0 else "more"
    if soil < _UNSEEN:
        return f"{text}the mound takes the same without it."
    return f"{text}without it the mound takes {show_volume(soil, units)} {more}."


def again_short(shot: ReadAgain, bed_area: float, units: Units) -> str:
    """The same for one line of a sheet: "1 to 83, 0.26 ft high, 0.4 cu yd less"."""
    side, soil = "high" if shot.residual > 0.0 else "low", abs(shot.change) * bed_area
    less = "less" if shot.change > 0.0 else "more"
    change = f"{show_volume(soil, units)} {less}" if soil >= _UNSEEN else "same soil"
    change = change if shot.heeded else "not heeded"
    size = show_length(abs(shot.residual), units, "elevation")
    odds = odds_words(shot.odds).removeprefix("odds ").removesuffix(" that it is misread")
    return f"{odds}, {size} {side}, {change}"


def odds_words(odds: float) -> str:
    """Odds that a shot is misread: "odds 3 to 1", "odds 1 to 40"."""
    if odds >= 1.0:
        return f"odds {odds:.0f} to 1 that it is misread" if odds < 1000.0 else "odds over 1000 to 1 that it is misread"
    against = 1.0 / max(odds, 1e-12)
    return f"odds 1 to {against:.0f} that it is misread" if against < 1000.0 else "odds under 1 to 1000"
