"""A mound that is the same all round: mirrored end to end, or turned."""

from __future__ import annotations

import numpy as np

from terrain.grid import Array
from terrain.look.model import Measure
from terrain.look.mound import Mound

COPY_NODES = 44  # nodes along the side of the small copy that is mirrored and turned
TURNS = (np.pi, 2.0 * np.pi / 3.0, np.pi / 2.0, 0.4 * np.pi)  # half, third, quarter and fifth turns
FRINGE = 0.02  # ground under this share of the height is what smoothing spreads beyond the mound
LONG = (1.05, 1.2)  # length to width from which, and at which in full, like ends count as a mark


def same_all_round(mound: Mound) -> Measure:
    """How nearly the mound repeats itself, mirrored or turned: 1 less the difference of the two, over the height.

    Measured on the eye's copy: an inch of spade marks is enough to part two rough halves.

    The difference is the one that a twentieth of the ground exceeds. A mirror line along the mound does not count: real
    hills of till have like sides but unlike ends (NF-3), and a lopsided round mound has one such line too.
    """
    reach = np.hypot(*(p[mound.body] - m for p, m in zip(mound.places, mound.middle, strict=True))).max()
    along, across, axis = mound.spread
    u, v = np.meshgrid(*2 * [np.linspace(-reach, reach, COPY_NODES)])
    own = _sampled(mound, axis, u, v)
    turned = [_sampled(mound, axis, np.cos(t) * u - np.sin(t) * v, np.sin(t) * u + np.cos(t) * v) for t in TURNS]
    # The axes of the spread of a mirrored mound lie along and across its mirror line, so one line is enough.
    ends = _common(own, _sampled(mound, axis, -u, v)) * float(np.interp(along / across, LONG, (0.0, 1.0)))
    return Measure(max(ends, *(_common(own, copy) for copy in turned), 0.0), _survey(mound, mound.middle))


def _common(own: Array, other: Array) -> float:
    high = float(own.max())
    if high <= 0.0:  # a pile thinner than the copy's nodes stand apart
        return 0.0
    return 1.0 - float(np.quantile(np.abs(own - other)[np.maximum(own, other) > FRINGE * high], 0.95)) / high


def _sampled(mound: Mound, axis: float, u: Array, v: Array) -> Array:
    """Fill, as the eye takes it in, at (u, v) metres along and across the long axis from the middle."""
    c, s = np.cos(axis), np.sin(axis)
    places = np.stack([mound.middle[0] + c * u - s * v, mound.middle[1] + s * u + c * v], axis=-1)
    return mound.eye.at(places / mound.eye.step)


def _survey(mound: Mound, local: tuple[float, float]) -> tuple[float, float]:
    return float(mound.x0 + local[0]), float(mound.y0 + local[1])
