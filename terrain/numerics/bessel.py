"""The modified Bessel function K1, of which the covariance of smoothness 1 takes millions of values."""

from __future__ import annotations

import math
from itertools import accumulate

import numpy as np

from terrain.grid import Array
from terrain.numerics.machine_code import compiled

_TURN = 2.0  # below it the series, from it on the polynomial
_TERMS = 12  # of the series: the next would add less than 1e-17 up to the turn
# Of sqrt(a) e^a K1(a) as a polynomial in u = 2 * _TURN / a - 1 for a from _TURN to infinity, lowest power first:
# through its values at 19 Chebyshev points, good to the last two digits.
_FAR = np.array(
    [
        1.3631518903713415,
        0.10334973775389801,
        -0.0055667298800339965,
        0.0007357241529424063,
        -0.00013959021978582342,
        3.2843899719400095e-05,
        -8.961212161744622e-06,
        2.7297733320091013e-06,
        -9.06647350599374e-07,
        3.2411231200656305e-07,
        -1.2233479501925392e-07,
        4.56847236531949e-08,
        -1.9040905834500388e-08,
        1.2489456486563495e-08,
        -5.392968504518075e-09,
        -1.3778366050437876e-09,
        5.426332599630488e-10,
        1.6152625903487206e-09,
        -7.666561654523799e-10,
    ]
)
_HARMONIC = np.array([0.0, *accumulate(1.0 / k for k in range(1, _TERMS + 1))])
_FACTORIAL = np.array([math.factorial(k) * math.factorial(k + 1) for k in range(_TERMS)], dtype=float)
_PLAIN = 1.0 / _FACTORIAL
_DIGAMMA = (_HARMONIC[:-1] + _HARMONIC[1:] - 2.0 * np.euler_gamma) / _FACTORIAL


def times_first_bessel(a: Array) -> Array:
    """The product a K1(a) of an array of any shape, all a >= 0; it is 1 at 0.

    Near 0 by the series of Abramowitz and Stegun, Handbook of Mathematical Functions (1964), 9.6.11.
    """
    flat = np.ravel(a)
    product: Array = _product(np.ascontiguousarray(flat, dtype=float), np.empty(flat.size)).reshape(np.shape(a))
    return product


@compiled
def _product(a: Array, out: Array) -> Array:
    for i in range(a.size):
        t = a[i] * a[i] / 4.0
        if t == 0.0:
            out[i] = 1.0
        elif a[i] <= _TURN:
            plain, digamma = 0.0, 0.0
            for k in range(_TERMS - 1, -1, -1):
                plain = plain * t + _PLAIN[k]
                digamma = digamma * t + _DIGAMMA[k]
            out[i] = 1.0 + t * (math.log(t) * plain - digamma)
        else:
            u, far = 2.0 * _TURN / a[i] - 1.0, 0.0
            for k in range(_FAR.size - 1, -1, -1):
                far = far * u + _FAR[k]
            out[i] = far * math.sqrt(a[i]) * math.exp(-a[i])
    return out
