"""Elevations of which some look written in feet and the others in metres: asked about, never worked with."""

from __future__ import annotations

import numpy as np

from terrain.errors import InputError
from terrain.site import Survey
from terrain.units import Units, show_length, unit_length

_FEET_IN_METRE = 1.0 / 0.3048
# Both set so that ground itself never looks like a slip; common practice, no published source.
_STEP = 5.0  # metres: no yard has a step so high with no shot on it
_NEARER = 0.1  # the elevations run over this share of what they ran over before, once a part is converted
_NAMED = 4  # shots that the message names


def check_one_system(survey: Survey, units: Units, where: str) -> None:
    """Refuse shots whose lower elevations agree with the higher ones once they are taken for metres among feet.

    Parameters
    ----------
    survey
        Shots in metres, all read in the site's units.
    units
        The site's, for the words.
    where
        Opens the message.

    Raises
    ------
    InputError
        Naming the shots of the smaller group, the factor, and what would be accepted. Elevations near zero cannot be
        told apart in this way and pass.
    """
    elevations = survey.shots[:, 2]
    order = np.argsort(elevations)
    steps = np.diff(elevations[order])
    if not steps.size or steps.max() < _STEP:
        return
    lower, higher = np.split(order, [int(np.argmax(steps)) + 1])
    converted = np.concatenate([elevations[lower] * _FEET_IN_METRE, elevations[higher]])
    if np.ptp(converted) > _NEARER * np.ptp(elevations):
        return
    odd, others = (lower, higher) if len(lower) <= len(higher) else (higher, lower)
    raise _mixed(survey, units, where, np.sort(odd), others)


def _mixed(survey: Survey, units: Units, where: str, odd: np.ndarray, others: np.ndarray) -> InputError:
    below = float(survey.shots[odd, 2].mean()) < float(survey.shots[others, 2].mean())
    factor, other = _FEET_IN_METRE if below else 1.0 / _FEET_IN_METRE, "metres" if below else "feet"
    names = ", ".join(f"row {survey.rows[i]}" if survey.rows else survey.names[i] for i in odd[:_NAMED])
    more = f" and {len(odd) - _NAMED} more" if len(odd) > _NAMED else ""
    verb = "stands" if len(odd) == 1 else "stand"
    first, second = (show_length(float(np.median(survey.shots[part, 2])), units, "elevation") for part in (odd, others))
    own = "feet" if unit_length(units) < 1.0 else "metres"
    agree = "it agrees" if len(odd) == 1 else "they agree"
    return InputError(
        where,
        f"{names}{more} {verb} at about {first}, the other shots at about {second}. Times {factor:.4g} {agree} with "
        f"the others, so {other} look mixed among {own}.",
        f"Write every elevation in {own}; where they are right, give the datum another zero.",
    )
