"""What a reader must know of how the existing grade was made."""

from __future__ import annotations

import numpy as np

from terrain.ground.choose import FittedGround
from terrain.ground.kriging import FEWEST_TO_FIT
from terrain.ground.reml import ENOUGH_TO_FIT
from terrain.ground.shots import MOST_SHOTS
from terrain.site.model import Site
from terrain.units import show_length


def ground_notes(site: Site, fitted: FittedGround) -> tuple[str, ...]:
    """One sentence for each thing that was assumed, merged or left coarse; none where nothing was."""
    came, stayed = len(site.survey.shots), len(fitted.shots.places)
    notes: list[str] = []
    if came > MOST_SHOTS:
        notes.append(f"{came:,} shots were averaged by cells into {stayed:,}; each mean stands for one shot.")
    else:
        notes += _merged(site, fitted)
    if stayed < FEWEST_TO_FIT:
        notes.append(f"With {stayed} shots the deviation is assumed, not measured; {FEWEST_TO_FIT} or more are needed.")
    if stayed > ENOUGH_TO_FIT:
        notes.append(f"The covariance was fitted to {ENOUGH_TO_FIT} of the {stayed:,} shots, at random.")
    return tuple(notes)


def _merged(site: Site, fitted: FittedGround) -> list[str]:
    """A sentence for each place that was shot more than once."""
    groups, names = fitted.shots.groups, site.survey.names
    notes = []
    for row in np.flatnonzero(np.bincount(groups) > 1):
        together = np.flatnonzero(groups == row)
        heights = site.survey.shots[together, 2]
        apart = show_length(float(np.ptp(heights)), site.units, "elevation")
        who = ", ".join(names[shot] for shot in together[:-1]) + f" and {names[together[-1]]}"
        notes.append(f"Shots {who} stand in one place and differ by {apart}; their mean is used.")
    return notes
