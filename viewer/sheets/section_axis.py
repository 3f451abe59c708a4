"""Where a section stands on the paper."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from terrain.grid import Array


@dataclass(frozen=True)
class Axis:
    """The point of station 0 and elevation `datum`, points to the metre along, and how many times that upwards."""

    left: float
    foot: float
    datum: float
    size: float
    times: float = 1.0

    @property
    def rise(self) -> float:
        """Points to the metre upwards: as along, unless heights are drawn larger and the drawing says so."""
        return self.size * self.times

    def points(self, stations: Array, elevations: Array) -> Array:
        """(n, 2) points on the paper."""
        return np.column_stack([self.left + self.size * stations, self.foot + self.rise * (elevations - self.datum)])

    def shape(self, shape: BaseGeometry) -> BaseGeometry:
        """A shape of (station, elevation) in metres, on the paper."""
        return shapely.transform(shape, lambda xy: self.points(xy[:, 0], xy[:, 1]))
