"""Water over a lip: head over the lip, how far it may be out of level, and how far the sheet throws.

A garden lip lies outside every standard for weirs (those begin at 30 mm of head), and a rough stone is no thin plate:
these formulas give the size, with the range that `LIP_SPREAD` says.
"""

from __future__ import annotations

import math

from terrain.limits import FOOT, LIP_SPREAD

GRAVITY = 9.80665  # m/s2, standard
# Francis 1868 as the U.S. Bureau of Reclamation quotes it (Water Measurement Manual, ch. 7): Q = 3.33 (L - 0.1 n H)
# H^1.5 in feet and ft3/s.
FRANCIS = 3.33 * math.sqrt(FOOT)
# Over a free overfall the depth is 0.715 of the critical depth (Rouse 1936), which is two thirds of the head.
BRINK = 0.715


def lip_head(flow: float, width: float, contracted: bool = False) -> float:
    """Head over a lip in metres: how high the still water upstream stands over it.

    Parameters
    ----------
    flow
        m3/s, 0 or more.
    width
        Of the lip, metres.
    contracted
        Whether the water narrows at both ends, because the lip is narrower than what leads to it.

    Notes
    -----
    Francis's formula solved for the head; the contraction takes a tenth of the head at each end.
    """
    head: float = (flow / (FRANCIS * width)) ** (2.0 / 3.0)
    for _ in range(50 if contracted else 0):
        # A lip that is all contraction carries nothing more: half of it is the least that is left.
        head = (flow / (FRANCIS * max(width - 0.2 * head, width / 2.0))) ** (2.0 / 3.0)
    return head


def head_range(head: float) -> tuple[float, float]:
    """The least and the most head where a rough stone passes `LIP_SPREAD` more or less than the formula says."""
    spread = LIP_SPREAD.value
    return head / (1.0 + spread) ** (2.0 / 3.0), head / (1.0 - spread) ** (2.0 / 3.0)


def brink_depth(flow: float, width: float) -> float:
    """Depth of the water on the edge itself, metres; about half of the head.

    `flow` in m3/s over `width` metres; critical depth (q^2 / g)^(1/3) times `BRINK`.
    """
    return BRINK * math.cbrt((flow / width) ** 2 / GRAVITY)


def uneven(head: float, out_of_level: float) -> float:
    """How much more passes at the low end of a lip than at its high end, as a share; `inf` where the high end is dry.

    Each place passes as its own head to the power of 1.5; both lengths in metres.
    """
    high = head - out_of_level / 2.0
    return math.inf if high <= 0.0 else ((head + out_of_level / 2.0) / high) ** 1.5 - 1.0


def fall_speed(height: float) -> float:
    """Speed in m/s of water that has fallen `height` metres."""
    return math.sqrt(2.0 * GRAVITY * height)


def throw(flow: float, width: float, height: float) -> float:
    """How far from the lip a clean sheet lands, metres: its speed on the edge for as long as the fall lasts."""
    if flow <= 0.0:
        return 0.0
    return flow / width / brink_depth(flow, width) * math.sqrt(2.0 * height / GRAVITY)
