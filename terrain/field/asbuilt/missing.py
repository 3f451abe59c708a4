"""The soil still missing, and what lies over the plan, each with its range.

Where the surface is low, or high, by more than the shots' own noise, all that is off there is added up, with its
shoulders; elsewhere the noise of the shots would make soil of both kinds that nobody has to move. The range is that of
the mean height there, by a process fitted to the shots about that place: a hollow is rougher than the mound round it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components
from scipy.spatial import KDTree

from terrain.field.asbuilt.covered import spacing
from terrain.field.asbuilt.model import Missing, Stage
from terrain.field.asbuilt.surface import BuiltSurface
from terrain.flow import Study
from terrain.grid import Array, Mask
from terrain.ground import fit_ground, heights_at, local_shots, mean_height_range
from terrain.numerics import CENTRAL_90, one_thread
from terrain.site import loose_to_order, placed_to_loose

SHOULDER = 0.75  # of the distance between shots that a place reaches beyond where it is plainly off
_ABOUT = 1.5  # of that distance within which shots tell of the place
_FEWEST = 8  # shots that a process is fitted to; with fewer about the place, to all
_BEYOND = 0.05  # of all the chance on either side of the range
_MOST = 700  # places that stand for the ground whose mean is asked for
DEEP = 0.5  # of the tolerance that a place must be off by somewhere, or it is the noise of the shots
_SURE = 3.0  # deviations by which the whole mound must be off, where no place is


@dataclass(frozen=True)
class _Amount:
    """Volume in m3 with the ends of its 90 % range."""

    middle: float
    low: float
    high: float


def missing_soil(study: Study, surface: BuiltSurface, stage: Stage, tolerance: float) -> Missing:
    """What the surface is short of the plan and what lies over it on the ground that shots cover, placed m3.

    Parameters
    ----------
    study
        The yard worked through.
    surface
        What was built, between its shots.
    stage
        The plan it is held against.
    tolerance
        How far a shot may stand off, metres.
    """
    soil = study.site.soil
    with one_thread():
        sides = _sides(study, surface, tolerance)
        missing, surplus = (_amount(study, surface, sides == side, side) for side in (-1, 1))
    # Day-one heights carry the allowance for settlement already.
    measure = missing.middle
    loose = placed_to_loose(measure, soil) if stage == "day one" else loose_to_order(measure, soil, soil.settlement)
    return Missing(missing.middle, missing.low, missing.high, surplus.middle, loose)


def _sides(study: Study, surface: BuiltSurface, tolerance: float) -> Array:
    """(n,) for each place: -1 where it belongs to ground that is low, 1 to ground that is high, 0 to neither."""
    places, off = surface.places, surface.off(surface.places)
    sides = np.zeros(len(places))
    noise, deep = study.site.survey.accuracy, DEEP * tolerance
    plain = np.zeros(len(places), dtype=bool)
    for side in (-1.0, 1.0):
        for part in _parts(places, side * off > noise, surface.each):
            if (side * off[part]).max() > deep:
                plain[part], sides[part] = True, side
    if not plain.any():
        return np.full(len(places), np.sign(off.mean())) if _all_off(surface, off) else sides
    away, near = KDTree(places[plain]).query(places)
    return np.where(away <= SHOULDER * spacing(surface.shots), sides[plain][near], 0.0)


def _all_off(surface: BuiltSurface, off: Array) -> bool:
    """Whether the mound as a whole stands off, though no one place does by much."""
    return bool(abs(off.mean()) > _SURE * surface.mean_deviation)


def _parts(places: Array, chosen: Mask, each: float) -> list[Array]:
    """The chosen places, those that touch together, by their numbers; `each` is the area of one, m2."""
    rows = np.flatnonzero(chosen)
    if not len(rows):
        return []
    pairs = KDTree(places[rows]).query_pairs(1.6 * np.sqrt(each), output_type="ndarray")
    links = coo_matrix((np.ones(len(pairs)), pairs.T), (len(rows), len(rows)))
    count, part = connected_components(links, directed=False)
    return [rows[part == number] for number in range(count)]


def _amount(study: Study, surface: BuiltSurface, here: Mask, side: int) -> _Amount:
    """What is off on one side over some of the places."""
    if not here.any():
        reach = CENTRAL_90 * surface.mean_deviation * surface.each * len(surface.places)
        return _Amount(0.0, 0.0, reach)
    places = surface.places[here]
    rows = KDTree(places).query(surface.shots)[0] <= _ABOUT * spacing(surface.shots)
    if rows.sum() < _FEWEST:
        rows[:] = True
    table = np.column_stack([surface.shots[rows], surface.values[rows]])
    fit = fit_ground(local_shots(table, study.site.survey.accuracy), "kriging", 0.0)
    area = surface.each * len(places)
    middle = (
        side * area * float((heights_at(fit, fit.shots.local(places)) + fit.shots.base - surface.plan(places)).mean())
    )
    some = places[:: -(-len(places) // _MOST)]
    ends = np.array(mean_height_range(fit, some, _BEYOND)) - surface.plan(some).mean()
    low, high = np.sort(side * area * ends)
    return _Amount(max(middle, 0.0), float(min(max(low, 0.0), max(middle, 0.0))), float(max(high, middle, 0.0)))
