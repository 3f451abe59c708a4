"""The set-out of one yard: every stake with its tapes, its place along the baseline, and its grades."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np
import shapely
from shapely.geometry import LineString, Point
from shapely.geometry.base import BaseGeometry

from terrain.errors import InputError
from terrain.expect import expect
from terrain.field.setout.baseline import PEGS, Baseline, long_baseline
from terrain.field.setout.chains import tape_all
from terrain.field.setout.known import STAKE, known_points
from terrain.field.setout.model import Known, Level, LevelMark, Nail, SetOut, Spot, Stage, Stake, Tapes
from terrain.field.setout.nails import checks, driven, free_names, nail_places
from terrain.field.setout.pairs import POOR, best_tapes
from terrain.field.setout.places import Chosen, choose_places, closed_ground
from terrain.field.setout.walking import along_stations, walking_order
from terrain.flow import Study
from terrain.grid import Array
from terrain.limits import BUILT_TOLERANCE
from terrain.numerics import cut_facets, depth_at, fill_facets
from terrain.site import Site, expect_measured, flare_radius
from terrain.survey import Place, side_of
from terrain.units import show_length

CLOSEST, WIDEST = 0.3, 15.0  # metres
FINEST, COARSEST = 0.003, 0.3048  # metres that the strung surface may stand off
_PARTS = (1, 2, 4)  # of a step between stations
_THROUGH_CORNER = 0.02  # metres: a tape that starts at a corner must not be held to cross the house


@dataclass(frozen=True)
class _Tied:
    """What stakes are measured from: known points, nails to drive, the string beside a long bed."""

    known: tuple[Known, ...]
    across: BaseGeometry
    nails: tuple[Nail, ...] = ()
    string: tuple[Known, Known] | None = None

    @property
    def points(self) -> tuple[Known, ...]:
        """What tapes may start from: the nails alone where a string carries them."""
        own = tuple(nail.point for nail in self.nails)
        return own if self.string else (*self.known, *own)


def set_out(
    study: Study,
    spacing: float | None = None,
    level: Level | None = None,
    stage: Stage = "day one",
    tolerance: float | None = None,
) -> SetOut:
    """Stake out one yard.

    Parameters
    ----------
    study
        The yard worked through.
    spacing
        Greatest distance between neighbouring stakes along the foot, metres; None: as the error asks.
    level
        The level as set up; None gives no rod readings.
    stage
        The grade that is strung between the stakes.
    tolerance
        How far the strung surface may stand off that grade, metres; None: what an as-built check allows.

    Raises
    ------
    InputError
        For a spacing or a tolerance out of range, a tolerance that takes too many stakes, and where neither known
        points nor nails place every stake.
    """
    expect("set_out", study=(study, Study))
    expect_measured(study.site.survey.measured, ("[survey] surface", "stakes are set by elevations"))
    most = BUILT_TOLERANCE[study.site.units].value if tolerance is None else tolerance
    _check(study.site, "--spacing", spacing, CLOSEST, WIDEST)
    _check(study.site, "--tolerance", most, FINEST, COARSEST)
    site, across = study.site, obstacles(study.site)
    closed = closed_ground(study)
    line = long_baseline(site.bed.outline, site.units, across, closed)
    factor = study.work.day_one_factor if stage == "day one" else 1.0
    chosen, line = _placed(study, factor, most, spacing, line)
    known = known_points(site, study.proposal)
    spots = _named(site, _in_order(chosen, known, line), known)
    frame = _framed(site, _Tied(known, across), spots, line, closed)
    tapes = tape_all(frame.points, spots, across)
    if line is None:
        spots = _named(site, _by_tapes(spots, tapes), known)
        tapes = tape_all(frame.points, spots, across)
    string = frame.string or string_line(tapes, across, study.proposal.worked)
    stakes = _stakes(study, spots, tapes, string)
    found = SetOut(stakes, string, stage, most, chosen.error, chosen.excepted, frame.nails, level=level)
    return replace(
        found,
        checks=checks(frame.nails, known, site),
        sills=tuple(_sills(study, frame)),
        step=None if line is None else line.step,
    )


def _placed(
    study: Study, factor: float, most: float, spacing: float | None, line: Baseline | None
) -> tuple[Chosen, Baseline | None]:
    """The places of stakes, and the baseline along which they stand.

    Where a bed ends between two even stations and no stake on either carries its end, stations lie closer, and at the
    last the stakes stand anywhere.
    """
    finer = [] if line is None else [replace(line, step=line.step / parts) for parts in _PARTS]
    for one in finer:
        chosen = choose_places(study, factor, most, spacing, one)
        if chosen.error <= most:
            return chosen, one
    return choose_places(study, factor, most, spacing, None), None


def _check(site: Site, where: str, length: float | None, low: float, high: float) -> None:
    if length is not None and not low - 1e-9 <= length <= high + 1e-9:
        ends = " to ".join(show_length(end, site.units) for end in (low, high))
        raise InputError(where, f"{show_length(length, site.units)} is out of range.", f"Accepted: {ends}.")


def _in_order(chosen: Chosen, known: Sequence[Known], line: Baseline | None) -> list[Spot]:
    """The places in the order of walking."""
    places = np.array([spot.at for spot in chosen.spots])
    if line is None:
        order = walking_order(places, known[0].at if known else chosen.spots[0].at)
    else:
        ends = Known("", line.start), Known("", line.end)
        stations = np.array([along(ends, spot.at) for spot in chosen.spots])
        order = along_stations(stations, np.array([side_of(line.start, line.end, spot.at) for spot in chosen.spots]))
    return [chosen.spots[k] for k in order]


def _by_tapes(spots: Sequence[Spot], tapes: Sequence[Tapes]) -> list[Spot]:
    """The spots taped from the same points on one side together, the most first, each group in the order of walking.

    Tapes that hang on two points stay there until all is done from them. Stakes taped from other stakes come last.
    """
    hooks = [(one.start.at, one.end.at, one.left, max(one.start.rank, one.end.rank) == STAKE) for one in tapes]
    counts, found = Counter(hooks), list[Spot]()
    for hook in sorted(counts, key=lambda hook: (hook[3], -counts[hook])):
        group = [spot for spot, own in zip(spots, hooks, strict=True) if own == hook]
        start = found[-1].at if found else hook[0]
        found += [group[k] for k in walking_order(np.array([spot.at for spot in group]), start)]
    return found


def _named(site: Site, spots: Sequence[Spot], known: Sequence[Known]) -> list[Spot]:
    """The spots with names that nothing else in the yard has."""
    names = free_names("SQZ", len(spots), _taken(site, known))
    return [replace(spot, name=name) for spot, name in zip(spots, names, strict=True)]


def _taken(site: Site, known: Sequence[Known]) -> list[str]:
    return [*(point.name for point in known), *site.survey.names, *(name for name, _ in site.survey.known)]


def _framed(site: Site, bare: _Tied, spots: Sequence[Spot], line: Baseline | None, closed: BaseGeometry) -> _Tied:
    """What to measure from: a string beside a long bed, known points where they serve, nails where they do not."""
    taken = [*_taken(site, bare.known), *(spot.name for spot in spots)]
    if line is not None:
        marks = [line.start, line.end, *line.marks(PEGS[site.units], closed)]
        nails = driven(free_names("NM", len(marks), taken), marks, bare.known, bare.across)
        nails = (*nails[:2], *(replace(nail, tapes=None) for nail in nails[2:]))
        return replace(bare, nails=nails, string=(nails[0].point, nails[1].point))
    if _served(bare, spots):
        return bare
    places = np.array([spot.at for spot in spots])
    pair = nail_places(site, places, bare.across, closed)
    return replace(bare, nails=driven(free_names("NM", 2, taken), pair, bare.known, bare.across))


def _served(frame: _Tied, spots: Sequence[Spot]) -> bool:
    """Whether the known points place every stake, by tapes that run free."""
    try:
        tapes = tape_all(frame.known, spots, frame.across)
    except InputError:
        return False
    return all(one.clear and one.dilution <= POOR for one in tapes)


def _stakes(
    study: Study, spots: Sequence[Spot], tapes: Sequence[Tapes], string: tuple[Known, Known]
) -> tuple[Stake, ...]:
    start, end = string
    existing, finished, day_one = grades(study, np.array([spot.at for spot in spots]))
    return tuple(
        Stake(
            spot.name,
            spot.what,
            spot.at,
            tapes[k],
            along(string, spot.at),
            side_of(start.at, end.at, spot.at),
            float(existing[k]),
            float(finished[k]),
            float(day_one[k]),
        )
        for k, spot in enumerate(spots)
    )


def _sills(study: Study, frame: _Tied) -> Iterator[LevelMark]:
    """The sills of every stream, taped from what the stakes are taped from; those that no two points place stay out."""
    for needs in study.streams:
        sills = needs.materials.parts.sills
        placed = best_tapes(frame.points, np.array([sill.at for sill in sills]), frame.across)
        for sill, tapes in zip(sills, placed, strict=True):
            if tapes is not None:
                name = f"{needs.materials.name} {sill.name}"
                yield LevelMark(name, sill.at, tapes, sill.elevation, sill.day_one)


def obstacles(site: Site) -> BaseGeometry:
    """What no tape can cross: buildings, a hand's breadth in from their walls, and the flares of trees; metres."""
    houses = [house.outline.buffer(-_THROUGH_CORNER, join_style="mitre") for house in site.building]
    trees = [Point(tree.at).buffer(flare_radius(tree)) for tree in site.tree]
    return shapely.union_all([*houses, *trees])


def string_line(tapes: Sequence[Tapes], across: BaseGeometry, mound: BaseGeometry) -> tuple[Known, Known]:
    """The baseline: of the pairs that tapes start from, the most used whose string runs free, beside the mound if any.

    Where none does, the longest free line between any two of these points; without one the most used pair.
    """
    firm = [(one.start, one.end) for one in tapes if max(one.start.rank, one.end.rank) < STAKE]
    used = [pair for pair, _ in Counter(firm).most_common()]
    points = dict.fromkeys(known for pair in used for known in pair)
    others = sorted(combinations(points, 2), key=lambda pair: -math.dist(pair[0].at, pair[1].at))
    for ground in (across.union(mound), across):
        for pair in (*used, *others):
            if not ground.intersects(LineString([pair[0].at, pair[1].at])):
                return pair
    return used[0]


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
