"""How unsure the ground is on a breakline: its points carry the survey's error, and it bends between them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from scipy.special import stdtrit
from shapely.geometry import LineString

from terrain.grid import Array
from terrain.numerics import CENTRAL_90, stations_of

_ENOUGH = 3  # inner points from which a line tells by itself how much it bends; fewer share what all lines tell


@dataclass(frozen=True)
class LineDoubt:
    """One breakline: plan in metres, places of its own points along it, and what they leave open.

    Parameters
    ----------
    line, stations
        Plan, and distances (k,) of its points from its start, metres.
    error
        Standard deviation of the elevation of one of its points, metres.
    bend
        Root mean square curvature of its profile, 1/m, widened for how few points tell it.
    """

    line: LineString
    stations: Array
    error: float
    bend: float

    def variance(self, along: Array) -> Array:
        """Error variance (m,) of the straight line between the points at (m,) distances from the start, m2.

        The error of both ends, weighed as the ends are, and the sag of a curve of that bend under its chord.
        """
        after = np.clip(np.searchsorted(self.stations, along), 1, len(self.stations) - 1)
        start, end = self.stations[after - 1], self.stations[after]
        share = np.clip((along - start) / (end - start), 0.0, 1.0)
        sag = 0.5 * self.bend * (end - start) ** 2 * share * (1.0 - share)
        return np.asarray(self.error**2 * (share**2 + (1.0 - share) ** 2) + sag**2)


def line_doubts(lines: Sequence[Array], accuracy: float) -> tuple[LineDoubt, ...]:
    """What each of the lines, (k, 3) in metres, leaves open; `accuracy` is one point's standard deviation in metres.

    Notes
    -----
    A line's bend comes from its own points, each held against the chord between its neighbours: a curve of bend c
    stands c a b / 2 off a chord that it divides into a and b, beside the errors of the three. Where only two points
    stand on every line nothing is known of a bend, and lines count as straight.
    """
    told = [_chords(line, accuracy) for line in lines]
    every = np.concatenate(told) if told else np.empty((0, 2))
    doubts = []
    for line, own in zip(lines, told, strict=True):
        chords = own if len(own) >= _ENOUGH else every
        doubts.append(LineDoubt(LineString(line[:, :2]), stations_of(line), accuracy, _bend(chords)))
    return tuple(doubts)


def _chords(line: Array, accuracy: float) -> Array:
    """For each inner point of a line (m, 2): square of its miss of the chord less the errors' share, m2; lever, m2.

    The lever is by how much a bend of 1/m stands off that chord.
    """
    step = np.hypot(*np.diff(line[:, :2], axis=0).T)
    before, after = step[:-1], step[1:]
    share = before / (before + after)
    off = line[1:-1, 2] - (1.0 - share) * line[:-2, 2] - share * line[2:, 2]
    noise = accuracy**2 * (1.0 + share**2 + (1.0 - share) ** 2)
    return np.column_stack([off**2 - noise, 0.5 * before * after])


def _bend(chords: Array) -> float:
    """Root mean square bend, long chords counting for more; widened by Student's t for how few there are."""
    if not len(chords):
        return 0.0
    excess, lever = chords.T
    square = float(excess @ lever**2 / np.sum(lever**4))
    return float(stdtrit(len(chords), 0.95)) / CENTRAL_90 * float(np.sqrt(max(square, 0.0)))


def on_lines(doubts: Sequence[LineDoubt], targets: Array) -> Array:
    """Error variance (m,) at the place of the nearest breakline nearest to each of (m, 2) targets in metres, m2."""
    spots = shapely.points(targets)
    away = np.array([shapely.distance(spots, doubt.line) for doubt in doubts])
    nearest = np.argmin(away, axis=0)
    variance = np.empty(len(targets))
    for number, doubt in enumerate(doubts):
        mine = nearest == number
        variance[mine] = doubt.variance(shapely.line_locate_point(doubt.line, spots[mine]))
    return variance
