"""Stone that stays where water runs over it, and what a layer of it weighs."""

from __future__ import annotations

from terrain.waterworks.lip import GRAVITY

SPECIFIC_GRAVITY = 2.65
# Isbash 1936: rough water, as under a drop; calm water would take a stone about half as large.
ROUGH_WATER = 0.86


def steady_stone(speed: float) -> float:
    """Diameter in metres of a stone that stays in rough water of a speed in m/s: V^2 / (2 g C^2 (SG - 1)) (Isbash)."""
    return speed**2 / (2.0 * GRAVITY * ROUGH_WATER**2 * (SPECIFIC_GRAVITY - 1.0))
