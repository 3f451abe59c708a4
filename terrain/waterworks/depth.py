"""Uniform flow in a bed with sloping sides by Manning's formula: depth, speed and area of the running water."""

from __future__ import annotations

import math
from dataclasses import dataclass

from terrain.numerics import root_between


@dataclass(frozen=True)
class Running:
    """Water that runs evenly down a bed: depth in metres, area across in m2, width of its surface in metres, m3/s."""

    depth: float
    area: float
    top: float
    flow: float

    @property
    def speed(self) -> float:
        """Mean speed, m/s."""
        return self.flow / self.area if self.area > 0.0 else 0.0


def manning_flow(depth: float, width: float, run: float, slope: float, roughness: float) -> float:
    """Flow in m3/s at a depth: A R^(2/3) S^(1/2) / n (Manning; Chow, Open-Channel Hydraulics, 1959).

    Parameters
    ----------
    depth, width
        Of the water and of the flat floor, metres.
    run
        Of the sides for one metre of rise.
    slope
        Of the bed, rise/run.
    roughness
        Manning's n.
    """
    area = (width + run * depth) * depth
    wetted = width + 2.0 * depth * math.hypot(1.0, run)
    return area * math.cbrt(area / wetted) ** 2 * math.sqrt(slope) / roughness


def normal_depth(flow: float, width: float, run: float, slope: float, roughness: float) -> Running:
    """Water that runs evenly with a flow of m3/s; names as in `manning_flow`, `slope` above 0."""
    if flow <= 0.0:
        return Running(0.0, 0.0, width, 0.0)
    most = 1.0
    while manning_flow(most, width, run, slope, roughness) < flow:
        most *= 2.0
    depth = root_between(lambda y: manning_flow(y, width, run, slope, roughness) - flow, 0.0, most)
    return Running(depth, (width + run * depth) * depth, width + 2.0 * run * depth, flow)
