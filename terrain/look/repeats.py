"""Signs of repetition: tops of one size at one distance, and ripples."""

from __future__ import annotations

import numpy as np
from scipy import ndimage

from terrain.grid import Array
from terrain.look.eye import ACROSS, Eye
from terrain.look.model import Measure
from terrain.look.mound import Mound

TOP_LEVELS = np.linspace(1.0, 0.12, 34)  # shares of the height at which tops are told apart
PROMINENT = 0.05  # a top stands at least this share of the height over the saddle to a higher one
FEWEST = 3  # tops that make a row
WAVES = (0.15, 0.42)  # lengths of ripples, shares of the root of the area
TABLE = 128  # nodes along the side of the table in which waves are looked for
RIPPLED = (0.25, 0.08)  # ripples are looked for above this share of the height, and this far inside the edge
DEEP = 0.03  # fine relief shallower than this share of the fill counts by its share of it: the eye misses it
PERIODS = 2.2  # ripples that must fit on the mound


def equal_bumps(mound: Mound) -> Measure:
    """How nearly three or more tops are of one height and at one distance: 1 less the spread of both, over the mean."""
    eye = mound.eye
    places, heights = tops(eye)
    if len(heights) < FEWEST:
        return Measure(0.0, None)
    apart = np.hypot(*(places[:, None] - places).transpose(2, 0, 1)) + np.diag(np.full(len(heights), np.inf))
    off = places - places.mean(axis=0)
    along = np.sort(off @ np.linalg.svd(off)[2][0])
    spacing = min(_spread(np.diff(along)), _spread(apart.min(axis=1)))
    even = 1.0 - float(np.hypot(_spread(heights), spacing))
    return Measure(max(even, 0.0), eye.place(places[int(np.argmin(np.hypot(*off.T)))]))


def _spread(values: Array) -> float:
    """Standard deviation over the mean, unbiased: few tops are even by chance."""
    return float(values.std(ddof=1) / max(values.mean(), 1e-9))


def tops(eye: Eye) -> tuple[Array, Array]:
    """(n, 2) columns and rows of the tops, and their heights in metres, highest first.

    A top counts where it stands PROMINENT over the saddle that leads to a higher one.
    """
    fill = np.where(eye.body, eye.fill, 0.0)
    peaks = np.argwhere((fill == ndimage.maximum_filter(fill, 3)) & eye.body)
    peaks = peaks[np.argsort(-fill[tuple(peaks.T)], kind="stable")]
    heights = fill[tuple(peaks.T)]
    saddle = np.zeros(len(peaks))
    for level in TOP_LEVELS[::-1] * eye.height:
        parts = ndimage.label(fill >= level)[0][tuple(peaks.T)]
        first = np.array([int(np.argmax(parts == part)) for part in parts])
        joined = (parts > 0) & (first < np.arange(len(parts)))
        saddle[joined] = level
    kept = heights - saddle >= PROMINENT * eye.height
    return peaks[kept][:, ::-1].astype(float), heights[kept]


def ripples(mound: Mound) -> Measure:
    """Share of the mound's fine relief that is one even wave: the strongest line of its spectrum.

    The relief is that of the hardly smoothed copy over the eye's, as a share of the latter, less a cubic surface.
    """
    eye = mound.eye
    part = (eye.fill > RIPPLED[0] * eye.height) & (eye.depth > RIPPLED[1] * ACROSS) & eye.body
    places = np.argwhere(part)
    if len(places) < 2 * ACROSS or np.ptp(places, axis=0).max() >= TABLE:
        return Measure(0.0, None)
    rest = _less_cubic((places - places.mean(axis=0)) / ACROSS, eye.light[part] / eye.fill[part])
    total = float((rest**2).sum())
    if total <= 1e-12 * len(places):
        return Measure(0.0, None)
    table = np.zeros((TABLE, TABLE))
    table[tuple((places - places.min(axis=0)).T)] = rest
    power = 2.0 * np.abs(np.fft.rfft2(table)) ** 2 / (len(places) * total)
    north, east = np.meshgrid(np.fft.fftfreq(TABLE), np.fft.rfftfreq(TABLE), indexing="ij")
    often = np.hypot(north, east)
    long = np.where(often > 0.0, 1.0 / (ACROSS * np.maximum(often, 1e-9)), np.inf)
    reach = np.ptp(places, axis=0) * 1.0
    enough = np.abs(north) * reach[0] + np.abs(east) * reach[1] >= PERIODS
    allowed = (long >= WAVES[0]) & (long <= WAVES[1]) & enough
    deep = min(float(np.sqrt(total / len(places))) / DEEP, 1.0)
    strongest = deep * float(np.where(allowed, power, 0.0).max())
    node = places[int(np.argmax(np.abs(rest)))]
    return Measure(min(strongest, 1.0), eye.place(node[::-1]))


def _less_cubic(places: Array, values: Array) -> Array:
    north, east = places.T
    terms = np.array([north**i * east**j for i in range(4) for j in range(4 - i)])
    rest: Array = values - np.linalg.lstsq(terms @ terms.T, terms @ values, rcond=None)[0] @ terms
    return rest
