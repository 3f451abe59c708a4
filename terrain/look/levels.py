"""Signs seen in level ground on the mound: a flat top, and steps."""

from __future__ import annotations

from terrain.grid import Mask
from terrain.look.model import Measure
from terrain.look.mound import Mound

LEVEL = 0.12  # ground gentler than this share of height over half width is level
TOP = 0.6  # the top is what stands above this share of the height
TREAD = (0.12, 0.82)  # a tread lies between these shares of the height


def flat_top(mound: Mound) -> Measure:
    """Level ground at the top as a share of the upper half."""
    top = _level(mound) & (mound.share > TOP)
    upper = mound.body & (mound.share > 0.5)
    return Measure(float(top.sum()) / max(int(upper.sum()), 1), mound.deepest(top))


def stepped(mound: Mound) -> Measure:
    """Level ground between toe and top as a share of the mound."""
    tread = _level(mound) & (mound.share > TREAD[0]) & (mound.share < TREAD[1])
    return Measure(float(tread.sum()) / max(int(mound.body.sum()), 1), mound.deepest(tread))


def _level(mound: Mound) -> Mask:
    return mound.body & (mound.fine.slope < LEVEL * mound.mean_slope)
