"""Signs seen in level ground on the mound: a flat top, and steps."""

from __future__ import annotations

import numpy as np

from terrain.look.model import Measure
from terrain.look.mound import Mound, smoothed

LEVEL = 0.15  # ground gentler than this share of height over half width is level
# Width of the bell curve for it, a share of the root of the area: 8 in on a mound of 20 m2. At the eye's foot a small
# level top is round.
CALM = 0.045
TOP = 0.8  # the top is what stands above this share of the height: lower shelves are natural ground's too
CLIMB, BANDS = (0.04, 0.9), 24  # shares of the height between which steps are looked for, and in how many bands


def flat_top(mound: Mound) -> Measure:
    """Level ground at the top as a share of the upper half, on a copy so smooth that spade marks make no top uneven."""
    calm = smoothed(mound.fill, CALM * np.sqrt(mound.eye.body.sum()) * mound.eye.step / mound.step)
    high = float(calm.max())
    slope = np.hypot(*np.gradient(calm, mound.step))
    top = mound.body & (slope < LEVEL * high / mound.seen_half_width) & (calm > TOP * high)
    upper = mound.body & (calm > 0.5 * high)
    return Measure(float(top.sum()) / max(int(upper.sum()), 1), mound.deepest(top))


def stepped(mound: Mound) -> Measure:
    """How far the slope gives out on the way up before it picks up again, 0 to 1, at the worst height.

    The mean slope is taken in bands of height; at each band it is held against the lesser of the steepest below and the
    steepest above. A slope that only eases off towards the top, or is even, gives 0.
    """
    band = np.floor((mound.share - CLIMB[0]) / (CLIMB[1] - CLIMB[0]) * BANDS).astype(np.intp)
    inside = mound.body & (band >= 0) & (band < BANDS)
    slope = mound.sharp.slope
    count, total = (
        np.convolve(np.bincount(band[inside], weights=w, minlength=BANDS), (0.25, 0.5, 0.25), mode="same")
        for w in (None, slope[inside])
    )
    mean = total / np.maximum(count, 1.0)
    shoulder = np.minimum(np.maximum.accumulate(mean), np.maximum.accumulate(mean[::-1])[::-1])
    lost = 1.0 - np.divide(mean, shoulder, out=np.ones(BANDS), where=shoulder > 0.0)
    worst = int(np.argmax(lost))
    tread = inside & (np.abs(band - worst) <= 1) & (slope < 0.5 * shoulder[worst])
    return Measure(float(lost[worst]), mound.deepest(tread))
