"""Photographs that people hand in."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from terrain.plain import plain
from terrain.survey.readers.apart import PICTURE, read_body_apart


@dataclass(frozen=True)
class Photograph:
    """A photograph, upright.

    Parameters
    ----------
    pixels
        (height, width, 3) red, green and blue, as many as are kept.
    size
        Width and height of the file's own picture, in whose pixels marks count.
    film
        Focal length in millimetres of 35 mm film, as its file tells; None where it does not.
    taken
        When, as its file tells, "2026:06:21 15:04:00"; "" where it does not.
    """

    pixels: NDArray[np.uint8]
    size: tuple[int, int]
    film: float | None
    taken: str

    @property
    def scale(self) -> float:
        """Kept pixels to one of the file's own."""
        return float(self.pixels.shape[1] / self.size[0])


def read_photograph(path: Path, label: str) -> Photograph:
    """Read a JPEG or a PNG, in a process with bounds. Raises `InputError` where it cannot be read."""
    told, body = read_body_apart(PICTURE, path, label)
    width, height = (int(n) for n in told["kept"])
    pixels = np.frombuffer(body, dtype=np.uint8).reshape(height, width, 3)
    full_width, full_height = (int(n) for n in told["full"])
    film = None if told["film"] is None else float(told["film"])
    return Photograph(pixels, (full_width, full_height), film, plain(str(told["taken"])))
