"""The set-out of one yard: every stake with its tapes, its place along the baseline, and its grades."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from itertools import combinations

import numpy as np
import shapely
from shapely.geometry import LineString, Point
from shapely.geometry.base import BaseGeometry

from terrain.errors import InputError
from terrain.expect import expect
from terrain.field.setout.chains import tape_all
from terrain.field.setout.known import STAKE, known_points
from terrain.field.setout.model import Known, Level, SetOut, Stake, Tapes
from terrain.field.setout.places import Lines, stake_spots
from terrain.flow import Study
from terrain.grid import Array
from terrain.limits import STAKES_APART
from terrain.numerics import cut_facets, depth_at, fill_facets
from terrain.site import Site, flare_radius
from terrain.survey import Place, side_of
from terrain.units import Units, show_length

CLOSEST, WIDEST = 0.3, 15.0  # metres
MOST = 400  # stakes
_THROUGH_CORNER = 0.02  # metres: a tape that starts at a corner must not be held to cross the house


def set_out(study: Study, sections: Lines = (), spacing: float | None = None, level: Level | None = None) -> SetOut:
    """Stake out one yard.

    Parameters
    ----------
    study
        The yard worked through.
    sections
        Lines whose ends and toes are staked, with their letters.
    spacing
        Greatest distance between neighbouring stakes, metres; None: 5 ft or 1.5 m.
    level
        The level as set up; None gives no rod readings.

    Raises
    ------
    InputError
        For a spacing out of range, and where the site has no two known points that place every stake.
    """
    expect("set_out", study=(study, Study))
    site, units = study.site, study.site.units
    wide = STAKES_APART[units].value if spacing is None else spacing
    _check_spacing(wide, units)
    spots = stake_spots(site, study.ground, study.proposal, wide, sections)
    if len(spots) > MOST:
        raise InputError(
            "--spacing", f"{show_length(wide, units, 'distance')} makes {len(spots)} stakes.", "Give a wider spacing."
        )
    places = np.array([spot.at for spot in spots])
    tapes = tape_all(known_points(site), spots, obstacles(site))
    start, end = string_line(tapes, obstacles(site))
    existing, finished, day_one = grades(study, places)
    stakes = tuple(
        Stake(
            spot.name,
            spot.what,
            spot.at,
            tapes[k],
            along((start, end), spot.at),
            side_of(start.at, end.at, spot.at),
            float(existing[k]),
            float(finished[k]),
            float(day_one[k]),
        )
        for k, spot in enumerate(spots)
    )
    return SetOut(stakes, (start, end), wide, level)


def _check_spacing(spacing: float, units: Units) -> None:
    if not CLOSEST <= spacing <= WIDEST:
        ends = " to ".join(show_length(end, units, "distance") for end in (CLOSEST, WIDEST))
        raise InputError(
            "--spacing", f"{show_length(spacing, units, 'distance')} is out of range.", f"Accepted: {ends}."
        )


def obstacles(site: Site) -> BaseGeometry:
    """What no tape can cross: buildings, a hand's breadth in from their walls, and the flares of trees; metres."""
    houses = [house.outline.buffer(-_THROUGH_CORNER, join_style="mitre") for house in site.building]
    trees = [Point(tree.at).buffer(flare_radius(tree)) for tree in site.tree]
    return shapely.union_all([*houses, *trees])


def string_line(tapes: Sequence[Tapes], across: BaseGeometry) -> tuple[Known, Known]:
    """The baseline: of the pairs that tapes start from, the most used whose string runs free of what stands there.

    Where none does, the longest free line between any two of these points; without one the most used pair.
    """
    firm = [(one.start, one.end) for one in tapes if max(one.start.rank, one.end.rank) < STAKE]
    used = [pair for pair, _ in Counter(firm).most_common()]
    points = dict.fromkeys(known for pair in used for known in pair)
    others = sorted(combinations(points, 2), key=lambda pair: -math.dist(pair[0].at, pair[1].at))
    free = (pair for pair in (*used, *others) if not across.intersects(LineString([pair[0].at, pair[1].at])))
    return next(free, used[0])


def along(baseline: tuple[Known, Known], place: Place) -> float:
    """Station of a place along a baseline, metres from its start."""
    (start, end), length = (baseline[0].at, baseline[1].at), math.dist(baseline[0].at, baseline[1].at)
    return ((end[0] - start[0]) * (place[0] - start[0]) + (end[1] - start[1]) * (place[1] - start[1])) / length


def grades(study: Study, places: Array) -> tuple[Array, Array, Array]:
    """Existing, finished and day-one grade in metres at (n, 2) places.

    Fill and cut are read off the mesh, which keeps outline and keep-off circles exactly. Soil that settles is built
    higher on day one; what is cut does not settle.
    """
    mesh = study.proposal.mesh
    existing = study.ground.grid.sample(study.ground.elevation, places)
    fill = depth_at(fill_facets(mesh), places)
    cut = depth_at(cut_facets(mesh), places)
    return existing, existing + fill - cut, existing + study.work.day_one_factor * fill - cut
