"""Points known in two frames: the turn, the stretch and the shift that lay one upon the other, and what they are worth.

Least squares in closed form: Umeyama, Least-squares estimation of transformation parameters between two point patterns,
IEEE PAMI 13(4), 1991, eq. 34 to 43, after Horn 1987. How far the points hold a place away from them: Fitzpatrick, West
and Maurer, Predicting error in rigid-body point-based registration, IEEE Trans. Medical Imaging 17(5), 1998.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from terrain.grid import Array, frozen

_LEAST = 1e-9  # of the largest spread: less is none


@dataclass(frozen=True)
class Similarity:
    """What takes places of one frame to another: `stretch` times `turn` (3, 3) times a place, plus `shift` (3,)."""

    stretch: float
    turn: Array
    shift: Array

    def of(self, places: Array) -> Array:
        """(n, 3) places in the other frame."""
        laid: Array = self.stretch * places @ self.turn.T + self.shift
        return laid


def laid_upon(places: Array, others: Array, stretch: float | None = None) -> Similarity:
    """The similarity that takes (n, 3) places nearest to as many others; of a `stretch` where one is given.

    A mirror image is never an answer. Three places that do not stand in line fix it.
    """
    here, there = places.mean(axis=0), others.mean(axis=0)
    p, q = places - here, others - there
    left, sizes, right = np.linalg.svd(q.T @ p / len(p))
    signs = np.array([1.0, 1.0, math.copysign(1.0, np.linalg.det(left) * np.linalg.det(right))])
    turn = left * signs @ right
    spread = float((p**2).sum()) / len(p)
    if stretch is None:
        stretch = float(sizes @ signs) / max(spread, np.finfo(float).tiny)
    return Similarity(stretch, frozen(turn), frozen(there - stretch * turn @ here))


def left_out_misses(places: Array, others: Array, stretch: float | None = None) -> Array:
    """(n, 3) by how much each place misses its other once it is laid by the rest; at least four places."""
    rows = np.arange(len(places))
    rest = [laid_upon(places[rows != i], others[rows != i], stretch) for i in rows]
    return np.array([fit.of(places[i : i + 1])[0] - others[i] for i, fit in enumerate(rest)])


def stretch_deviation(places: Array, deviation: float) -> float:
    """Standard deviation of the stretch that (n, 3) places fix, each known to `deviation` along every axis."""
    spread = float(((places - places.mean(axis=0)) ** 2).sum())
    return deviation / math.sqrt(spread) if spread > 0.0 else math.inf


def layout_factor(places: Array, targets: Array) -> float:
    """How many times farther off than their mean the places hold the worst of (m, 3) targets; inf for places in line.

    The target's error over that of the mean, sqrt(1 + sum of d_k^2 / f_k^2 over 3), where d_k is the distance of the
    target from the k-th principal axis of the places and f_k their own root mean square from it.
    """
    middle = places.mean(axis=0)
    _, sizes, axes = np.linalg.svd(places - middle, full_matrices=True)
    along = np.zeros(3)
    along[: len(sizes)] = sizes**2 / len(places)
    from_axis = along.sum() - along
    if from_axis.min() <= _LEAST * along.max():
        return math.inf
    part = ((targets - middle) @ axes.T) ** 2
    off = part.sum(axis=1, keepdims=True) - part
    return float(np.sqrt(1.0 + (off / from_axis).sum(axis=1) / 3.0).max())
