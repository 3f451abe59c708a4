"""The crest as the eye follows it, whatever its bends, and the sections across it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from terrain.grid import Array
from terrain.look.eye import Eye
from terrain.numerics import longest_path

POINTS = 81  # places along the whole crest
KEPT = (0.16, 0.84)  # the part of the crest whose sections are measured: at its ends any mound runs out
STATIONS, OFFSETS = 25, 41


@dataclass(frozen=True)
class Sections:
    """Sections square to the crest.

    Parameters
    ----------
    line
        (s, 2) columns and rows of the stations, from end to end.
    height
        (s,) fill on the crest, metres.
    left, right
        (s,) widths from the crest to the edge, steps.
    area
        (s,) areas of the sections, metres times steps.
    shape
        (s, o) fill over the crest's at even shares of the way from the left edge to the right one.
    """

    line: Array
    height: Array
    left: Array
    right: Array
    area: Array
    shape: Array


def crest_line(eye: Eye) -> Array:
    """(POINTS, 2) columns and rows along the crest, which keeps to the height between the far ends of the body."""
    line = longest_path(eye.body, eye.fill / eye.height, POINTS)
    return np.repeat(eye.middle[None], POINTS, axis=0) if line is None else line


def sections_of(eye: Eye) -> Sections:
    """Sections across the middle part of the crest, each out to the body's edge."""
    whole = crest_line(eye)
    lean = np.gradient(whole, axis=0)
    lean /= np.maximum(np.hypot(*lean.T), 1e-9)[:, None]
    at = np.linspace(KEPT[0], KEPT[1], STATIONS) * (POINTS - 1)
    line, way = (
        np.column_stack([np.interp(at, np.arange(POINTS), one[:, k]) for k in (0, 1)]) for one in (whole, lean)
    )
    across = np.column_stack([-way[:, 1], way[:, 0]])
    reach = np.arange(0.0, 1.6 * float(eye.depth.max()) + 2.0, 0.5)
    inside = eye.depth
    left, right = (_width(eye, inside, line, sign * across, reach) for sign in (1.0, -1.0))
    share = np.linspace(-1.0, 1.0, OFFSETS)
    away = np.where(share < 0.0, share * left[:, None], share * right[:, None])
    fill = eye.at(line[:, None, :] - away[..., None] * across[:, None, :])
    height = np.maximum(eye.at(line), 1e-9)
    area = fill.mean(axis=1) * (left + right)
    return Sections(line, height, left, right, area, fill / height[:, None])


def _width(eye: Eye, inside: Array, line: Array, across: Array, reach: Array) -> Array:
    """Steps from each station to the first place outside the body."""
    found = eye.at(line[:, None, :] + reach[None, :, None] * across[:, None, :], inside) <= 0.5
    found[:, -1] = True
    width: Array = np.maximum(reach[np.argmax(found, axis=1)], 0.5)
    return width
