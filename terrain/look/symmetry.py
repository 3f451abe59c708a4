"""The mirrored hill: two halves that are each other's image in a line, wherever the line lies."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from terrain.grid import Array
from terrain.look.eye import ACROSS, FOOT, Eye
from terrain.look.model import Measure
from terrain.look.mound import Mound

# Lines that are tried: directions (radians) and distances from the middle of the fill (shares of the root of the area),
# then ever closer round the best few.
WAYS, SHIFTS = np.linspace(0.0, np.pi, 25)[:-1], np.linspace(-0.09, 0.09, 5)
BEST = 4
# Real hills of till have like sides but unlike ends (NF-3 in `bounds`): on a mound this much longer than wide, a mirror
# line within this angle of its long axis must be so many times as true to count as much.
LONG, ALONG, STRICTER = (1.2, 1.6), np.radians(20.0), 2.0
CLOSER = ((0.065, 0.022), (0.022, 0.0075), (0.0075, 0.0025))


def mirrored(mound: Mound) -> Measure:
    """Share of the fill, root mean square, that a mirror line repeats on its other side; the best line counts.

    After the symmetry distance of Zabrodsky, Peleg and Avnir 1995, IEEE PAMI 17(12): the least move to a symmetric
    shape, here measured upward only.
    """
    eye = mound.eye
    points = eye.nodes[(eye.nodes % 2 == 0).all(axis=1)]  # enough at the eye's scale
    if len(points) < 9:
        return Measure(0.0, None)
    lines = np.stack(np.meshgrid(WAYS, SHIFTS * ACROSS, indexing="ij"), axis=-1).reshape(-1, 2)
    strict = _strictness(mound)
    lost = _lost(eye, points, lines) * strict(lines[:, 0])
    for turn, shift in CLOSER:
        best = lines[np.argsort(lost)[:BEST]]
        around = np.stack(np.meshgrid((-turn, 0.0, turn), (-shift * ACROSS, 0.0, shift * ACROSS)), axis=-1).reshape(
            -1, 2
        )
        lines = (best[:, None] + around).reshape(-1, 2)
        lost = _lost(eye, points, lines) * strict(lines[:, 0])
    return Measure(
        max(1.0 - float(lost.min()), 0.0), eye.place(_on_line(eye, lines[int(np.argmax(lost < lost.min() + 1e-6))]))
    )


def _lost(eye: Eye, points: Array, lines: Array) -> Array:
    """Root mean square of what the sides of each line (way, shift in steps) have not in common, over that of fill."""
    normal = np.stack([np.cos(lines[:, 0]), np.sin(lines[:, 0])], axis=-1)
    away = (points - eye.middle) @ normal.T - lines[:, 1]
    image = points[:, None] - 2.0 * away[..., None] * normal
    own = eye.at(points)[:, None]
    other = eye.at(image)
    # A place whose image lies off the mound stands for its image as well.
    twice = np.where(other < FOOT * eye.height, 2.0, 1.0)
    lost: Array = np.sqrt((twice * (own - other) ** 2).sum(axis=0) / (own**2).sum())
    return lost


def _strictness(mound: Mound) -> Callable[[Array], Array]:
    """How many times as true a mirror line must be, from the way square to it (radians)."""
    along, across, axis = mound.spread
    more = (STRICTER - 1.0) * float(np.interp(along / across, LONG, (0.0, 1.0)))

    def strictness(way: Array) -> Array:
        off = np.abs(np.mod(way + 0.5 * np.pi - axis + 0.5 * np.pi, np.pi) - 0.5 * np.pi)
        stricter: Array = 1.0 + more * np.clip(2.0 - off / ALONG, 0.0, 1.0)
        return stricter

    return strictness


def _on_line(eye: Eye, line: Array) -> Array:
    """Column and row of the place on the line that is nearest to the middle of the fill."""
    place: Array = eye.middle + line[1] * np.array([np.cos(line[0]), np.sin(line[0])])
    return place
