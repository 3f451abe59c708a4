"""Orthophotos that people hand in."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from terrain.grid import Array
from terrain.survey.readers.apart import ORTHO, read_body_apart


@dataclass(frozen=True)
class Orthophoto:
    """A picture of the ground.

    Parameters
    ----------
    pixels
        (height, width, 3) red, green and blue, as many as are kept.
    lies
        (2, 3): what takes (column, row, 1) of a kept pixel's corner to x and y of its system.
    system
        Well-known text of that; "" where the file names none.
    """

    pixels: NDArray[np.uint8]
    lies: Array
    system: str


def read_orthophoto(path: Path, label: str) -> Orthophoto:
    """Read a GeoTIFF picture, in a process with bounds. Raises `InputError` where it cannot be read."""
    told, body = read_body_apart(ORTHO, path, label)
    wide, high = (int(n) for n in told["size"])
    pixels = np.frombuffer(body, dtype=np.uint8).reshape(high, wide, 3)
    return Orthophoto(pixels, np.array(told["lies"], dtype=float).reshape(2, 3), str(told["system"]))
