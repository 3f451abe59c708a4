"""How alike the ground's height is at two places: the Matern covariance."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from terrain.grid import Array


@dataclass(frozen=True)
class Covariance:
    """Matern covariance of half-integer smoothness.

    Parameters
    ----------
    smoothness
        0.5 (rough ground: continuous, creased at the shots), 1.5 (once differentiable) or 2.5 (twice).
    reach
        Distance u0 in frame units in exp(-u / u0); the "phi" of Diggle and Ribeiro, Model-based Geostatistics
        (2007).
    sill
        Variance of the ground about its trend, m2.
    """

    smoothness: float
    reach: float
    sill: float


def correlation(distance: Array, smoothness: float, reach: float) -> Array:
    """Correlation at distances in frame units, from a = distance / reach: e^-a times a polynomial in a.

    1 for smoothness 0.5, 1 + a for 1.5, 1 + a + a^2/3 for 2.5: closed forms for half-integer smoothness in
    Rasmussen and Williams, Gaussian Processes for Machine Learning (2006), eq. 4.17.
    """
    a = distance / reach
    fall = np.exp(-a)
    if smoothness > 0.5:
        fall *= 1.0 + a if smoothness == 1.5 else 1.0 + a + a * a / 3.0
    return np.asarray(fall)


def nearby_scale(covariance: Covariance) -> float:
    """Sill over reach^(2 smoothness): what the shots fix well where sill and reach are each uncertain."""
    return covariance.sill / math.pow(covariance.reach, 2.0 * covariance.smoothness)
