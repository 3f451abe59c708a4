"""Doubtful shots on ground with breaklines, where the smooth process knows nothing of the step beside a wall.

There the fitted covariance takes the step for relief, and no bust stands out of it. So shots are held against the
facets through the others, which crease as the ground does; from the process comes only how far a shot may be expected
to miss for where it stands among the others, up to one factor that the misses themselves set. Where a shot stands out
above and one beside it below, a bank that nobody shot lies between the two, and neither is called a bust.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from terrain.grid import Array, Mask
from terrain.ground.leave_one_out import WORTH_ASIDE, LeftOutShot, doubtful_from, most_aside
from terrain.ground.shots import LocalShots
from terrain.numerics import Kriging, ShotTriangulation, carried_on, fit_triangulation, left_out_by_triangulation

_STANDS_OUT = 3.5  # deviations
_MEDIAN_OF_NORMAL = 0.6745  # median of a normal variable's size, in deviations


@dataclass(frozen=True)
class _Facets:
    """The facets through the kept shots and the breaklines, and the kept shots' scores among themselves.

    `scores` (n,), with the sign of each shot's miss, has a nan where a shot is not kept or cannot be left out; `factor`
    is the deviation that one unit of the process's expected miss stands for.
    """

    tin: ShotTriangulation
    scores: Array
    factor: float

    @property
    def sizes(self) -> Array:
        """The scores without their signs."""
        return np.abs(self.scores)


def creased_residuals(shots: LocalShots, process: Kriging) -> tuple[LeftOutShot, ...]:
    """Shots that miss the facets through the rest by more than the rest lead one to expect, the farthest first."""
    kept, aside = np.ones(len(shots.places), dtype=bool), list[int]()
    facets = _through(shots, kept, process)
    beside = _neighbours(facets.tin, shots.free)
    while len(aside) < most_aside(shots.free) and np.isfinite(facets.scores).any():
        worst = int(np.nanargmax(facets.sizes))
        if facets.sizes[worst] < WORTH_ASIDE:
            break
        aside.append(worst)
        kept[worst] = False
        facets = _through(shots, kept, process)
    while aside:
        doubtful = _doubtful([_left_out(shots, facets, process, row) for row in aside], facets, beside)
        if len(doubtful) == len(aside):
            return tuple(sorted(doubtful, key=lambda miss: -miss.score))
        aside = [miss.row for miss in doubtful]
        kept[:] = True
        kept[aside] = False
        facets = _through(shots, kept, process)
    return ()


def _doubtful(misses: list[LeftOutShot], facets: _Facets, beside: Mapping[int, set[int]]) -> list[LeftOutShot]:
    """Those that miss the facets by more than the rest lead one to expect, and stand on no bank."""
    rest = facets.sizes[np.isfinite(facets.scores)]
    if not len(rest):
        return []
    banks, bound = _on_banks(misses, facets, beside), doubtful_from(rest)
    return [miss for miss in misses if miss.row not in banks and miss.score > bound]


def _through(shots: LocalShots, kept: Mask, process: Kriging) -> _Facets:
    """The facets through the kept shots and all breaklines."""
    place = np.cumsum(kept) - 1
    tin = fit_triangulation(shots.places[kept], shots.heights[kept], place[shots.edges])
    scores = np.full(len(kept), np.nan)
    scores[kept] = left_out_by_triangulation(tin) / np.maximum(process.expected[kept], 1e-12)
    scores[shots.free :] = np.nan
    seen = np.abs(scores[np.isfinite(scores)])
    factor = float(np.median(seen)) / _MEDIAN_OF_NORMAL if len(seen) else 1.0
    return _Facets(tin, scores / max(factor, 1e-12), factor)


def _neighbours(tin: ShotTriangulation, free: int) -> dict[int, set[int]]:
    """The shots that share a facet with each shot, points of breaklines left out."""
    beside: dict[int, set[int]] = {row: set() for row in range(free)}
    for facet in tin.facets.tolist():
        for row in facet:
            if row < free:
                beside[row].update(other for other in facet if other < free and other != row)
    return beside


def _on_banks(misses: list[LeftOutShot], facets: _Facets, beside: Mapping[int, set[int]]) -> set[int]:
    """Rows beside which another shot stands out to the other side."""
    scores = dict(enumerate(facets.scores.tolist()))
    scores.update({miss.row: float(np.copysign(miss.score, miss.residual)) for miss in misses})
    out = {row for row, score in scores.items() if abs(score) > _STANDS_OUT}
    return {m.row for m in misses if any(scores[other] * scores[m.row] < 0.0 for other in beside[m.row] & out)}


def _left_out(shots: LocalShots, facets: _Facets, process: Kriging, row: int) -> LeftOutShot:
    """How far a shot that is not kept misses the facets; its deviation is never less than its own error."""
    residual = float(shots.heights[row] - carried_on(facets.tin, shots.places[row : row + 1])[0])
    return LeftOutShot(row, residual, max(facets.factor * float(process.expected[row]), float(shots.error[row])))
