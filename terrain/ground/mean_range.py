"""Between which heights the mean over some ground lies, as far as its shots tell."""

from __future__ import annotations

import numpy as np

from terrain.grid import Array
from terrain.ground.choose import FittedGround
from terrain.ground.model_averaging import means_and_deviations
from terrain.numerics import root_between, share_below

_WIDEST = 10.0  # deviations from the processes' own means within which any end of the range lies


def mean_height_range(fit: FittedGround, targets: Array, beyond: float) -> tuple[float, float]:
    """Heights in metres under and over which the mean over (m, 2) targets lies with a chance of `beyond` each.

    Notes
    -----
    Given one process, the mean over places is normal: its mean is that of the kriged heights, its variance that of
    their joint error. Given the shots it is a mixture of these, each process weighing what the shots leave it: what is
    not known of the covariance shows too.
    """
    means, deviations = np.array(list(means_and_deviations(fit.likely, fit.shots.local(targets)))).T
    deviations = np.maximum(deviations, np.finfo(float).tiny)
    shares = fit.likely.weights / fit.likely.weights.sum()
    least, most = (means - _WIDEST * deviations).min(), (means + _WIDEST * deviations).max()

    def under(chance: float) -> float:
        return root_between(lambda one: float(shares @ share_below((one - means) / deviations)) - chance, least, most)

    return float(under(beyond) + fit.shots.base), float(under(1.0 - beyond) + fit.shots.base)
