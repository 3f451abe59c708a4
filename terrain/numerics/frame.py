"""Stations along a bent line: each place of the ground around it has one, and lines across it never cross near it.

Between two corners the lines across turn from the bisector of the one to that of the other, so that a line across a
corner halves its angle and the station changes nowhere by a jump.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from terrain.grid import Array, Index


@dataclass(frozen=True)
class StationFrame:
    """A line of (n, 2) corners in metres, none of which repeats the one before."""

    corners: Array

    @cached_property
    def starts(self) -> Array:
        """(n,) station of every corner, metres from the first."""
        return np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(self.corners, axis=0).T))])

    @property
    def length(self) -> float:
        """Of the whole line, metres."""
        return float(self.starts[-1])

    @cached_property
    def _along(self) -> Array:
        """(n - 1, 2) unit vectors of the legs."""
        legs = np.diff(self.corners, axis=0)
        return np.asarray(legs / np.hypot(*legs.T)[:, None])

    @cached_property
    def _normals(self) -> Array:
        """(n, 2) unit vectors across which the line through each corner stands: half-way between its two legs."""
        both = np.vstack([self._along[:1], self._along[:-1] + self._along[1:], self._along[-1:]])
        size = np.hypot(*both.T)
        turned_back = size < 1e-9  # a line that comes straight back has no bisector: the leg before it decides
        both[turned_back] = np.vstack([self._along, self._along[-1:]])[turned_back]
        return np.asarray(both / np.hypot(*both.T)[:, None])

    @cached_property
    def _ahead(self) -> Array:
        """(n - 1, 2) what a place's way from the start of each leg is measured with: 1 along the leg, 0 along the
        bisector; of a very sharp corner it is square to the leg by a part of at most 3."""
        return _leaning(self._normals[:-1], self._along)

    @cached_property
    def _behind(self) -> Array:
        """(n - 1, 2) the same at the end of each leg."""
        return _leaning(self._normals[1:], self._along)

    @cached_property
    def turns(self) -> Array:
        """(n,) angle by which the line turns at each corner, radians; 0 at both ends."""
        inner = (self._along[:-1] * self._along[1:]).sum(axis=1)
        return np.concatenate([[0.0], np.arccos(np.clip(inner, -1.0, 1.0)), [0.0]])

    def _leg(self, stations: Array) -> tuple[Index, Array]:
        """(m,) leg of each station, and its share of that leg."""
        leg = np.clip(np.searchsorted(self.starts, stations, side="right") - 1, 0, len(self._along) - 1)
        return leg, (stations - self.starts[leg]) / (self.starts[leg + 1] - self.starts[leg])

    def places(self, stations: Array) -> Array:
        """(m, 2) places on the line, metres; stations beyond an end go straight on."""
        leg, _ = self._leg(stations)
        return np.asarray(self.corners[leg] + (stations - self.starts[leg])[:, None] * self._along[leg])

    def beside(self, stations: Array, away: Array) -> Array:
        """(m, 2) places on the lines across, `away` metres square from the line: to its left, or right if negative."""
        leg, share = self._leg(stations)
        share = np.clip(share, 0.0, 1.0)[:, None]
        # Level lines of the share that `stations` works out; along the leg these have a part of 1.
        normal = (1.0 - share) * self._ahead[leg] + share * self._behind[leg]
        across = np.column_stack([-normal[:, 1], normal[:, 0]])
        return np.asarray(self.places(stations) + away[:, None] * across)

    def stations(self, points: Array) -> Array:
        """(m,) station of each of (m, 2) points, metres, from 0 to the length."""
        best, found = np.full(len(points), np.inf), np.zeros(len(points))
        for leg, along in enumerate(self._along):
            start, end = self.corners[leg], self.corners[leg + 1]
            length = self.starts[leg + 1] - self.starts[leg]
            behind, ahead = (points - start) @ self._ahead[leg], (end - points) @ self._behind[leg]
            foot = start + np.clip((points - start) @ along, 0.0, length)[:, None] * along
            away = np.hypot(*(points - foot).T)
            # Of two legs as near, the one on whose side of the bisector the place lies.
            away += np.maximum(0.0, np.maximum(-behind, -ahead))
            behind, ahead = np.maximum(behind, 0.0), np.maximum(ahead, 0.0)
            both = behind + ahead
            share = np.where(both > 0.0, behind / np.where(both > 0.0, both, 1.0), 0.5)
            nearer = away < best
            best = np.where(nearer, away, best)
            found = np.where(nearer, self.starts[leg] + share * length, found)
        return found


def _leaning(normals: Array, along: Array) -> Array:
    """Normals scaled to have a part of 1 along their legs, and at most 3 square to them."""
    square = np.column_stack([-along[:, 1], along[:, 0]])
    forward = np.maximum((normals * along).sum(axis=1), 1e-9)
    aside = np.clip((normals * square).sum(axis=1) / forward, -3.0, 3.0)
    return np.asarray(along + aside[:, None] * square)
