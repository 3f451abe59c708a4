"""The crew's day of one yard, from its study and its stakes."""

from __future__ import annotations

import math

from terrain.field.crew.barrow_squares import SquaresFrame, squares_of
from terrain.field.crew.day import CrewDay, day_of
from terrain.field.setout.model import SetOut
from terrain.flow import Study


def crew_day(study: Study, stakes: SetOut) -> CrewDay:
    """Work out the crew's day: squares lie along the baseline of the stakes.

    Parameters
    ----------
    study
        The yard worked through.
    stakes
        Its set-out.
    """
    start, end = stakes.baseline
    length = math.dist(start.at, end.at)
    along = ((end.at[0] - start.at[0]) / length, (end.at[1] - start.at[1]) / length)
    return day_of(study, squares_of(study, SquaresFrame(start.at, along, start.name, end.name)))
