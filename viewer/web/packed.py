"""Heights as 16-bit codes: small enough to send, fine enough that no one sees the step."""

from __future__ import annotations

import base64
import zlib
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from terrain.grid import Array

LARGEST = 65_534  # the codes' span; one is kept so that a zero can be met exactly at either end


@dataclass(frozen=True)
class Packed:
    """Values as `low + step * codes`; `codes` is (ny, nx) unsigned 16-bit, `low` and `step` in metres."""

    low: float
    step: float
    codes: NDArray[np.uint16]

    @property
    def values(self) -> Array:
        """(ny, nx) metres, within half a step of what was packed."""
        return self.low + self.step * self.codes.astype(float)


def pack(values: Array) -> Packed:
    """Pack (ny, nx) metres; one step is the span over 65,534, and 0.0 stays exactly 0.0 where the span holds it."""
    low, high = float(values.min()), float(values.max())
    step = (high - low) / LARGEST or 1.0
    if low <= 0.0 <= high:
        low = -np.ceil(-low / step) * step
    return Packed(low, step, np.rint((values - low) / step).astype(np.uint16))


def as_text(packed: Packed) -> str:
    """The codes as text for a page: each row less the row south of it, low bytes before high, deflated, base64."""
    differences = np.diff(packed.codes, axis=0, prepend=np.uint16(0))
    planes = (differences & 0xFF).astype(np.uint8).tobytes() + (differences >> 8).astype(np.uint8).tobytes()
    return base64.b64encode(zlib.compress(planes, 9)).decode("ascii")
