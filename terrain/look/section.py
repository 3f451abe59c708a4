"""One section all along: on the straight or evenly bent long axis (the loaf), or along a crest of any bend."""

from __future__ import annotations

import numpy as np

from terrain.grid import Array
from terrain.look.crest import sections_of
from terrain.look.model import Measure
from terrain.look.mound import Mound

STATIONS, OFFSETS = 48, 33
ALIKE = 0.1  # sections that differ by less than this share of their area are alike


def loaf(mound: Mound) -> Measure:
    """Longest part of the mound's length over which its cross section stays the same, as a share of the length."""
    line, across = _crest_line(mound)
    reach = 1.3 * mound.half_width
    offsets = np.linspace(-reach, reach, OFFSETS)
    east = line[:, 0, None] + offsets * across[:, 0, None]
    north = line[:, 1, None] + offsets * across[:, 1, None]
    sections = mound.fill_at(east, north)
    start, stop = _longest_run(sections)
    where = line[(start + stop - 1) // 2]
    share = (stop - start) / STATIONS
    return Measure(share, (float(mound.x0 + where[0]), float(mound.y0 + where[1])))


def same_section(mound: Mound) -> Measure:
    """How little width, height and area of the section change along the crest, however it bends; 1 is not at all.

    What changes evenly from end to end is taken off first, so that a tapered or tilted ridge does not hide. The root
    mean square of the three standard deviations over their means (the area's halved: it holds both others), from 1.
    """
    eye = mound.eye
    sections = sections_of(eye)
    changes = _uneven(sections.left + sections.right), _uneven(sections.height), 0.5 * _uneven(sections.area)
    value = 1.0 - float(np.sqrt(np.mean(np.square(changes))))
    return Measure(max(value, 0.0), eye.place(sections.line[len(sections.line) // 2]))


def _uneven(values: Array) -> float:
    """Standard deviation about the straight line through the values, over their mean."""
    along = np.linspace(-1.0, 1.0, values.size)
    straight = values.mean() + along * (along @ values) / (along @ along)
    return float((values - straight).std() / max(values.mean(), 1e-12))


def _crest_line(mound: Mound) -> tuple[Array, Array]:
    """Stations along the crest and unit vectors across it, each (n, 2), metres from the south-west node.

    The crest is the parabola that fits best the middle of the fill at each place along the long axis.
    """
    axis = mound.spread[2]
    c, s = np.cos(axis), np.sin(axis)
    east, north = (p[mound.body] - m for p, m in zip(mound.places, mound.middle, strict=True))
    along, aside = c * east + s * north, c * north - s * east
    weight = mound.fill[mound.body]
    bend = np.polynomial.polynomial.polyfit(along, aside, 2, w=np.sqrt(weight))
    t = np.linspace(along.min(), along.max(), STATIONS + 1)
    t = 0.5 * (t[1:] + t[:-1])
    n = np.polynomial.polynomial.polyval(t, bend)
    lean = np.polynomial.polynomial.polyval(t, np.polynomial.polynomial.polyder(bend))
    line = np.column_stack([mound.middle[0] + c * t - s * n, mound.middle[1] + s * t + c * n])
    across = np.column_stack([-s - c * lean, c - s * lean]) / np.hypot(1.0, lean)[:, None]
    return line, across


def _longest_run(sections: Array) -> tuple[int, int]:
    """Start and stop of the longest run of stations whose sections are like the one in the run's middle."""
    best = (0, 0)
    for middle in range(len(sections)):
        area = float(sections[middle].sum())
        if area <= 0.0:
            continue
        alike = np.abs(sections - sections[middle]).sum(axis=1) < ALIKE * area
        low = middle - int(np.argmin(np.append(alike[: middle + 1][::-1], False)))
        high = middle + int(np.argmin(np.append(alike[middle:], False)))
        if high - low - 1 > best[1] - best[0]:
            best = (low + 1, high)
    return best
