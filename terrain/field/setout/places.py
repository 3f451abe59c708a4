"""Where stakes stand: the foot, the crest and the breaks first, then wherever the strung surface needs one."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial

import numpy as np
import shapely
from shapely.geometry import LineString, Point, Polygon
from shapely.geometry.base import BaseGeometry

from terrain.errors import InputError
from terrain.field.setout.baseline import Baseline
from terrain.field.setout.model import Spot
from terrain.field.setout.strung import APART, Aim, Staked, fewest, filled_up, nearest_spot, strays, strings, strung
from terrain.flow import Study
from terrain.grid import Array
from terrain.numerics import depth_at, fill_facets, one_thread, without
from terrain.shape import retained_edges
from terrain.site import keep_off_radius
from terrain.survey import Place
from terrain.units import show_length

MOST = 400  # stakes
BESIDE = 0.3  # metres from the rim of a dig, or from stones, to the stake that marks it
STAND_OFF = 0.01  # metres outside a keep-off: wider than what a circle drawn with corners falls short of the true one
_BEND = 0.3  # metres that a straight string between two stakes of the foot may leave it by
_BEND_SHARE = 0.08  # of the side of a square as large as the bed, where that is less
_LEAST_PART = 0.05  # m2: smaller parts of the bed get no stakes of their own
_TOP_APART = 0.5  # metres: a top nearer than this to a crest point gets no stake of its own
_STRIP = 0.25  # metres beside digs and stones that no string can follow
_SAMPLES = 2500  # places on which stakes are chosen; the whole mesh has the last word
_ALONG = 0.05  # metres between places on a string
_AIM = 0.97  # of the tolerance that stakes are chosen to: what a level's last digit takes is left over
_FOOT, _CREST, _BREAK, _BETWEEN = "foot", "crest", "edge of ", "between"

Held = tuple[Array, Array]  # (n, 2) places and (n,) heights there, metres


@dataclass(frozen=True)
class Chosen:
    """The stakes' places, how far the surface strung between them stands off, metres, and where it cannot, why."""

    spots: tuple[Spot, ...]
    error: float
    excepted: tuple[str, ...]


def choose_places(
    study: Study, factor: float, tolerance: float, spacing: float | None, baseline: Baseline | None
) -> Chosen:
    """Choose where stakes stand.

    Parameters
    ----------
    study
        The yard worked through.
    factor
        On the finished fill, for the grade that is staked.
    tolerance
        How far the strung surface may stand off that grade, metres.
    spacing
        Greatest distance between neighbours along the foot, metres; None: as the error asks.
    baseline
        Of a long bed, whose stakes stand at even stations; None: they stand anywhere.

    Raises
    ------
    InputError
        Where more than `MOST` stakes would be needed.
    """
    mesh, facets = study.proposal.mesh, fill_facets(study.proposal.mesh)
    closed, rough = closed_ground(study), _rough(study)
    corners = np.unique(mesh.triangles[mesh.inside])
    places, tops = mesh.points[corners], factor * np.maximum(mesh.fill[corners], 0.0)
    judged = ~shapely.contains_xy(rough, *places.T)

    def height(at: Array) -> Array:
        return factor * depth_at(facets, at)

    free = judged & ~shapely.contains_xy(closed, *places.T)
    spots, spot_tops = places[free], tops[free]
    if baseline is not None:
        spots = baseline.crossings(without(study.proposal.worked, closed))
        spot_tops = height(spots)
    wanted = _standing(study, _first(study, spacing), closed)
    if baseline is not None:
        wanted = baseline.snapped(wanted, study.proposal.worked, without(study.proposal.worked, closed))
    wanted = _told_apart(wanted)
    at = np.array([spot.at for spot in wanted])
    start = Staked(at, height(at), len(at))
    aim = Aim(places[judged], tops[judged], spots, spot_tops)
    where = study.proposal.worked.difference(rough)
    with one_thread():
        staked, aim = _searched(
            start, aim, partial(_creased, where, height), _AIM * tolerance, baseline is not None, study
        )
        error = float(strays(staked, aim).max(initial=0.0))
    more = [Spot("", _BETWEEN, (float(x), float(y))) for x, y in staked.at[staked.fixed :]]
    return Chosen((*wanted, *more), error, _excepted(study))


def _searched(
    start: Staked, aim: Aim, creased: Callable[[Staked], Held], most: float, even: bool, study: Study
) -> tuple[Staked, Aim]:
    """As few stakes as serve, and all the places that they were held against.

    They are chosen on some of the places and then held against all of them, and against their own strings: where two
    surfaces of flat facets differ most, a corner or an edge of one of them lies.
    """
    some = np.random.default_rng(0).permutation(len(aim.places))[:_SAMPLES]
    while True:
        part = Aim(aim.places[some], aim.heights[some], aim.spots, aim.tops)
        staked = filled_up(start, part, most, MOST)
        if staked is None:
            raise _too_many(most, study)
        # What no stake mends now would keep every stake that is not needed.
        staked = fewest(staked, part.where(strays(staked, part) <= most), most)
        more = _beyond(staked, aim, creased(staked), most)
        aim = aim.held_at(*more) if even else aim.held_at(*more).staked_at(*more)
        off = strays(staked, aim)
        missed = np.setdiff1d(np.flatnonzero(off > most), some)
        missed = missed[[nearest_spot(aim, staked, aim.places[k]) is not None for k in missed]]
        if not len(missed):
            return staked, aim
        some = np.append(some, missed[np.argsort(-off[missed])[: _SAMPLES // 10]])


def _beyond(staked: Staked, aim: Aim, found: Held, most: float) -> Held:
    """Those places of some, not held against yet, at which the strung surface stands off by more than `most` metres.

    One that no stake mends would come again for ever, each time as if it were new.
    """
    places, heights = found
    beyond = np.abs(strung(staked.at, staked.heights, places) - heights) > most
    beyond &= ~np.isin(places @ (1.0, 1.0j), aim.places @ (1.0, 1.0j))
    return places[beyond], heights[beyond]


def _creased(where: BaseGeometry, height: Callable[[Array], Array], staked: Staked) -> Held:
    """Places along the strings between stakes, (n, 2) metres, and the heights that they shall have."""
    along = strings(staked.at, _ALONG)
    inside = along[shapely.contains_xy(where, *along.T)]
    return inside, height(inside)


def _too_many(most: float, study: Study) -> InputError:
    shown = show_length(most, study.site.units)
    return InputError("--tolerance", f"{shown} takes more than {MOST} stakes.", "Give a wider one.")


def _first(study: Study, spacing: float | None) -> Iterator[Spot]:
    """The stakes that every mound has: its foot, its crest, the edges of its terraces, digs and stones."""
    yield from _foot(study, spacing)
    yield from _crest(study)
    for terrace in study.site.terrace:
        yield from _bends(terrace.outline, f"{_BREAK}{terrace.name}")
    for dig in study.proposal.all_digs:
        beside = show_length(BESIDE, study.site.units, "distance")
        yield from _bends(dig.rim.buffer(BESIDE), f"{beside} outside the rim of {dig.name}")
    yield from _stones(study)


def _bends(shape: BaseGeometry, what: str) -> Iterator[Spot]:
    for part in shapely.get_parts(shape):
        for at in _corners(LineString(part.exterior.coords), _bend(part)):
            yield Spot("", what, at)


def _bend(part: Polygon) -> float:
    return min(_BEND, _BEND_SHARE * math.sqrt(part.area))


def _corners(ring: LineString, bend: float) -> list[Place]:
    return [(float(x), float(y)) for x, y in list(ring.simplify(bend).coords)[:-1]]


def _foot(study: Study, spacing: float | None) -> Iterator[Spot]:
    """Stakes along the edge of the ground that takes soil, at its bends, and nowhere farther apart than asked."""
    for part in shapely.get_parts(study.proposal.worked):
        if part.area < _LEAST_PART:
            continue
        for ring in (part.exterior, *part.interiors):
            line = LineString(ring.coords)
            for at in _within(line, _corners(line, _bend(part)), spacing):
                yield Spot("", _FOOT, at)


def _within(ring: LineString, corners: Sequence[Place], spacing: float | None) -> Iterator[Place]:
    """The corners of a ring, and even steps between those that stand farther apart along it than the spacing."""
    yield from corners
    if spacing is None:
        return
    stations = sorted(ring.project(Point(at)) for at in corners)
    for start, end in zip(stations, [*stations[1:], stations[0] + ring.length], strict=True):
        count = math.ceil((end - start) / spacing - 1e-9)
        for k in range(1, count):
            place = ring.interpolate((start + (end - start) * k / count) % ring.length)
            yield float(place.x), float(place.y)


def _crest(study: Study) -> Iterator[Spot]:
    """The crest points as built, and the top."""
    proposal = study.proposal
    points = [built.at for built in proposal.crest]
    yield from (Spot("", _CREST, at) for at in points if proposal.worked.covers(Point(at)))
    if proposal.fill.max() > 0.0:
        row, column = np.unravel_index(int(np.argmax(proposal.fill)), proposal.grid.shape)
        top = (float(proposal.grid.x[column]), float(proposal.grid.y[row]))
        if all(math.dist(top, at) > _TOP_APART for at in points) and proposal.worked.covers(Point(top)):
            yield Spot("", "top", top)


def _stones(study: Study) -> Iterator[Spot]:
    """The ends and bends of stones, marked on their low side."""
    for edge in retained_edges(study.site):
        away = edge.stones.area / edge.line.length + BESIDE
        line = edge.line.simplify(_BEND).offset_curve(-away)
        what = f"{show_length(away, study.site.units, 'distance')} before the face of {edge.name}"
        for x, y in shapely.get_coordinates(line):
            yield Spot("", what, (float(x), float(y)))


def closed_ground(study: Study) -> BaseGeometry:
    """Ground in which no stake is driven: keep-offs, digs, stones and buildings, metres."""
    site = study.site
    trees = [
        Point(tree.at).buffer(keep_off_radius(tree, site.trees.rule) + STAND_OFF, quad_segs=64) for tree in site.tree
    ]
    digs = [dig.rim.buffer(STAND_OFF) for dig in study.proposal.all_digs]
    stones = [edge.stones for edge in retained_edges(site)]
    return shapely.union_all([*trees, *digs, *stones, *(house.outline for house in site.building)])


def _rough(study: Study) -> BaseGeometry:
    """Ground that no string can follow, with what lies close beside it, metres."""
    digs = [dig.rim for dig in study.proposal.all_digs]
    stones = [edge.stones for edge in retained_edges(study.site)]
    return shapely.union_all([*digs, *stones]).buffer(_STRIP)


def _excepted(study: Study) -> tuple[str, ...]:
    digs = [f"{dig.name}, which is dug to its own depth" for dig in study.proposal.all_digs]
    stones = [f"{edge.name}, where stones hold the soil upright" for edge in retained_edges(study.site)]
    return (*digs, *stones)


def _standing(study: Study, spots: Iterator[Spot], closed: BaseGeometry) -> list[Spot]:
    """The spots on ground that takes a stake; those in the edge of a keep-off stand just outside it."""
    grid, found = study.ground.grid, []
    for spot in spots:
        at = _off_trunks(study, spot.at)
        inside = grid.x[0] <= at[0] <= grid.x[-1] and grid.y[0] <= at[1] <= grid.y[-1]
        if inside and not shapely.contains_xy(closed.buffer(-1e-6), *at):
            found.append(Spot(spot.name, spot.what, at))
    return found


def _off_trunks(study: Study, at: Place) -> Place:
    """A place on the line of a keep-off moved out by `STAND_OFF`; any other as it is."""
    for tree in study.site.tree:
        radius, away = keep_off_radius(tree, study.site.trees.rule), math.dist(at, tree.at)
        if abs(away - radius) < STAND_OFF and away > 0.0:
            out = (radius + STAND_OFF) / away
            return tree.at[0] + out * (at[0] - tree.at[0]), tree.at[1] + out * (at[1] - tree.at[1])
    return at


def _told_apart(spots: Sequence[Spot]) -> list[Spot]:
    """One spot for those that would stand together, marked with all that they mark."""
    found: list[Spot] = []
    for spot in spots:
        near = next((k for k, other in enumerate(found) if math.dist(other.at, spot.at) < APART), None)
        if near is None:
            found.append(spot)
        elif spot.what not in found[near].what:
            found[near] = Spot("", f"{found[near].what}; {spot.what}", found[near].at)
    return found
