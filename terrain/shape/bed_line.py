"""The line of a stream's bed: treads that fall evenly between its drops, level in its pools, under both its banks."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from terrain.grid import Array
from terrain.limits import DROPS_APART, LEAST_DROP, LEAST_TREAD, STEEPEST_TREAD, TREAD_FALL

# Metres in which the line along a tread may be off the highest one: what the search for it leaves.
_CLOSE = 1e-9


@dataclass(frozen=True)
class Steps:
    """Where a bed steps down, (d,) stations in order, and by how much, both metres."""

    stations: Array
    heights: Array

    def fallen(self, stations: Array) -> Array:
        """(m,) fall of all drops before each station, metres; a drop's own station still lies above it."""
        before = self.stations[None, :] < stations[:, None] - _CLOSE
        return np.asarray(before @ self.heights if len(self.heights) else np.zeros(len(stations)))


def even_bed(stations: Array, cap: Array, level: Sequence[tuple[float, float]], steps: Steps, steepest: float) -> Array:
    """The highest bed at or under a cap whose treads each fall evenly, metres.

    Parameters
    ----------
    stations
        (m,) from the top down, each drop's own among them.
    cap
        (m,) elevation that the bed may not exceed.
    level
        Stretches without fall: the pools.
    steps
        The drops.
    steepest
        Most fall of a tread, rise/run; `inf` for no bound. Every tread falls by `LEAST_TREAD` at least.

    Returns
    -------
    array
        (m,) elevation of the bed, at a drop's station above the drop.

    Notes
    -----
    The unknowns are where the bed starts and the fall of each tread; the sum of the bed's elevations is the most under
    linear bounds, a linear programme.
    """
    from scipy.optimize import linprog

    runs = _runs(stations, level, steps)
    count = runs.shape[1]
    within = np.column_stack([np.ones(len(stations)), -runs])
    base = float(cap.min())
    bound = cap - base + steps.fallen(stations)
    # A little beside the sum settles which of two as good beds is meant: the one whose treads are the flattest.
    cost = np.concatenate([[-float(len(stations))], runs.sum(axis=0) + 1e-6])
    most = None if np.isinf(steepest) else steepest
    found = linprog(cost, within, bound, bounds=[(None, None), *[(LEAST_TREAD.value, most)] * count], method="highs")
    bed = np.asarray(base + within @ found.x - steps.fallen(stations))
    return bed


def _runs(stations: Array, level: Sequence[tuple[float, float]], steps: Steps) -> Array:
    """(m, treads) length of each tread that falls, as far as each station."""
    ends = np.concatenate([[stations[0]], steps.stations, [stations[-1]]])
    found = np.empty((len(stations), len(ends) - 1))
    for k, (start, end) in enumerate(itertools.pairwise(ends)):
        found[:, k] = np.clip(stations, start, end) - start
        for upper, lower in level:
            upper, lower = max(upper, start), min(lower, end)
            if lower > upper:
                found[:, k] -= np.clip(stations, upper, lower) - upper
    return found


def proposed_steps(stations: Array, cap: Array, highest: float, pools: Sequence[tuple[float, float]]) -> Steps:
    """Drops that take the fall of the ground: treads of equal length, none higher than asked, as few as that allows.

    Parameters
    ----------
    stations, cap
        As in `even_bed`.
    highest
        Most height of a drop, metres.
    pools
        Stretches that shall be level: where a drop lies within half a tread of the head of one it lies there, and none
        lies in it.

    Notes
    -----
    A tread falls by `TREAD_FALL` and keeps under the cap, so that each drop takes what the ground falls along the tread
    below it. On an even face the mean height over the mean tread then is the face's slope, the least of the one to two
    times that natural step-pools have (Abrahams, Li and Atkinson 1995); pools add to it. Drops under `LEAST_DROP` are
    left out, and the fall left to the tread.
    """
    length, cap = float(stations[-1]), np.minimum.accumulate(cap)
    low: Steps | None = None
    for count in range(int(length / DROPS_APART.value) + 1):
        places = _moved(_to_heads((np.arange(count) + 1.0) * length / (count + 1), pools), pools, length)
        steps = _without_low(stations, cap, places)
        if (steps.heights > highest + _CLOSE).any():
            continue
        if _fits(stations, cap, steps):
            return steps
        low = low or steps
    return low or steps


def _fits(stations: Array, cap: Array, steps: Steps) -> bool:
    """Whether the bed need nowhere lie deeper under its banks than one drop, and what is too little for another."""
    bed = even_bed(stations, cap, (), steps, STEEPEST_TREAD.value)
    return bool((cap - bed).max() <= steps.heights.max(initial=0.0) + LEAST_DROP.value)


def _to_heads(places: Array, pools: Sequence[tuple[float, float]]) -> Array:
    """The drops, at every pool the nearest of them moved to its head, where it is no more than half a tread away."""
    moved = places.copy()
    for start, _ in pools:
        away = np.abs(moved - start)
        if len(away) and away.min() <= places[0] / 2.0:
            moved[int(np.argmin(away))] = start
    return moved


def _moved(places: Array, pools: Sequence[tuple[float, float]], length: float) -> Array:
    """The drops, each that lies in a pool moved up to where that begins, and those that then lie too near left out."""
    for start, end in pools:
        places = np.where((places > start) & (places < end), start, places)
    kept: list[float] = []
    for place in np.unique(places):
        if place - (kept[-1] if kept else 0.0) >= DROPS_APART.value and length - place >= DROPS_APART.value:
            kept.append(float(place))
    return np.array(kept)


def _without_low(stations: Array, cap: Array, places: Array) -> Steps:
    """The drops at some places with their heights, the lowest left out until none is under `LEAST_DROP`."""
    heights = _heights(stations, cap, places)
    while len(places) and heights.min() < LEAST_DROP.value:
        places = np.delete(places, int(np.argmin(heights)))
        heights = _heights(stations, cap, places)
    return Steps(places, heights)


def _heights(stations: Array, cap: Array, places: Array) -> Array:
    """What each drop takes, so that the tread below it keeps under the cap; none is negative, metres."""
    fall = TREAD_FALL.value
    ends = np.concatenate([[0.0], places, [stations[-1]]])
    foot, heights = np.inf, []
    for start, end in itertools.pairwise(ends):
        on = (stations >= start - _CLOSE) & (stations <= end + _CLOSE)
        top = min(foot, float((cap[on] + fall * (stations[on] - start)).min()))
        heights.append(foot - top)
        foot = top - fall * (end - start)
    return np.array(heights[1:])
