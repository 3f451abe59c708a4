"""How alike the ground's height is at two places: the Matern covariance."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from terrain.grid import Array
from terrain.numerics.bessel import times_first_bessel


@dataclass(frozen=True)
class Covariance:
    """Matern covariance of one of four smoothnesses.

    Parameters
    ----------
    smoothness
        0.5 (rough ground: continuous, creased at the shots), 1 (over a long length the surface is nearly the thin
        plate), 1.5 (once differentiable) or 2.5 (twice).
    correlation_length
        Distance u0 in frame units in exp(-u / u0); the "phi" of Diggle and Ribeiro, Model-based Geostatistics
        (2007).
    sill
        Variance of the ground about its trend, m2.
    """

    smoothness: float
    correlation_length: float
    sill: float


def correlation(distance: Array, smoothness: float, length: float) -> Array:
    """Correlation at distances in frame units, from a = distance / length: e^-a times a polynomial in a.

    1 for smoothness 0.5, 1 + a for 1.5, 1 + a + a^2/3 for 2.5: closed forms for half-integer smoothness in
    Rasmussen and Williams, Gaussian Processes for Machine Learning (2006), eq. 4.17. For smoothness 1 it is a K1(a),
    eq. 4.14 there, K1 being the modified Bessel function of the second kind.
    """
    a = distance / length
    if smoothness == 1.0:
        return times_first_bessel(a)
    # In place: fresh memory for each step takes longer than the step.
    fall = np.negative(a)
    np.exp(fall, out=fall)
    if smoothness > 0.5:
        square = a * a / 3.0 if smoothness == 2.5 else None
        a += 1.0
        if square is not None:
            a += square
        fall *= a
    return fall
