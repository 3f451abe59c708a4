"""Points that a crew can find again: the user's own first, then corners, trees and shots that left a mark."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Sequence

import numpy as np
import shapely
from shapely.geometry import Polygon

from terrain.field.setout.model import Known
from terrain.grid import Mask
from terrain.numerics import cut_facets, depth_at, fill_facets
from terrain.shape import Proposal
from terrain.site import Site, flare_radius
from terrain.survey import Place, point_key

# How readily a point is found: the user's own, a built corner, a laid edge or lot pin, a trunk, a shot that left a
# mark, a nail that the crew drives for it, a stake.
OWN, HOUSE, LAID, TREE, SHOT, NAIL, STAKE = range(7)
_SAME = 0.05  # metres: nearer than this, two known points are one
_MOST_SHOTS = 60
_COVERED = 0.005  # metres of soil under which a point is not seen any more
_WINDS = ("E", "NE", "N", "NW", "W", "SW", "S", "SE")
_MARKED = re.compile(
    r"\b(nail|pin|spike|hub|peg|stake|bolt|screw|cross|corner|drain|lid|cover|manhole|post|hydrant|mark|marked)\b",
    re.IGNORECASE,
)


def known_points(site: Site, proposal: Proposal | None = None) -> tuple[Known, ...]:
    """Every point that tapes may start from, the readiest first; no two at one place or under one name.

    Parameters
    ----------
    site
        The yard.
    proposal
        What will be built: a point under its fill or in its digs is none to start from. None: before any is shaped.
    """
    found: list[Known] = []
    all_points = [*_own(site), *_corners(site), *_trees(site), *_shots(site)]
    hidden = [False] * len(all_points) if proposal is None else lost(proposal, [p.at for p in all_points]).tolist()
    for point, gone in zip(all_points, hidden, strict=True):
        apart = all(math.dist(point.at, other.at) > _SAME for other in found)
        if apart and not gone and all(point_key(point.name) != point_key(other.name) for other in found):
            found.append(point)
    return tuple(found)


def firm_points(site: Site, proposal: Proposal) -> tuple[Known, ...]:
    """Those that stand fast without a nail: the user's own, corners of buildings, laid edges and pins."""
    return tuple(point for point in known_points(site, proposal) if point.rank <= LAID)


def lost(proposal: Proposal, places: Sequence[Place]) -> Mask:
    """(n,) which places, metres, lie under the fill or in a dig."""
    if not places:
        return np.zeros(0, dtype=bool)
    at, mesh = np.array(places), proposal.mesh
    dug = shapely.union_all([dig.rim for dig in proposal.all_digs])
    deep = (depth_at(fill_facets(mesh), at) > _COVERED) | (depth_at(cut_facets(mesh), at) > _COVERED)
    return np.asarray(deep | shapely.contains_xy(dug, *at.T))


def _own(site: Site) -> Iterator[Known]:
    """The points that the user names, and those that the survey itself was taped from."""
    for name, at in site.survey.known:
        yield Known(name, at, OWN)


def _corners(site: Site) -> Iterator[Known]:
    for house in site.building:
        yield from _named(house.name, house.outline, HOUSE)
    for clear in site.keep_clear:
        yield from _named(clear.name, clear.outline, LAID)
    if site.boundary is not None:
        yield from _named("lot", site.boundary, LAID)
    for thing in site.thing:
        if len(thing.line) == 1:
            yield Known(thing.name, thing.line[0], LAID)


def _named(name: str, outline: Polygon, rank: int) -> Iterator[Known]:
    """The outward corners of an outline, by the wind they point to, or by number where two share one."""
    hull = shapely.convex_hull(outline).simplify(_SAME)
    if not isinstance(hull, Polygon):
        return
    middle, ring = hull.centroid, list(hull.exterior.coords)[:-1]
    winds = [_wind((middle.x, middle.y), (east, north)) for east, north in ring]
    for number, (at, wind) in enumerate(zip(ring, winds, strict=True), start=1):
        yield Known(f"{name} {wind if winds.count(wind) == 1 else number}", (float(at[0]), float(at[1])), rank)


def _wind(middle: Place, at: Place) -> str:
    turn = math.degrees(math.atan2(at[1] - middle[1], at[0] - middle[0]))
    # A corner is named by its diagonal unless it points nearly square to a wind.
    square = min(abs(turn - straight) for straight in (-180.0, -90.0, 0.0, 90.0, 180.0))
    if square < 5.0:
        return _WINDS[round(turn / 45.0) % 8]
    return _WINDS[(2 * math.floor(turn / 90.0) + 1) % 8]


def _trees(site: Site) -> Iterator[Known]:
    """Trunks of a known thickness, from their middles."""
    for tree in site.tree:
        if tree.trunk > 0.0:
            yield Known(tree.name, tree.at, TREE, core=flare_radius(tree), bark=tree.trunk / 2.0)


def _shots(site: Site) -> Iterator[Known]:
    """The shots nearest to the bed that stand on something that is still there, by their names."""
    places = shapely.points(site.survey.shots[:, :2])
    order = shapely.distance(places, site.bed.outline).argsort(kind="stable")
    marked = [i for i in order if _MARKED.search(site.survey.codes[i])]
    for i in marked[:_MOST_SHOTS]:
        east, north = site.survey.shots[i, :2]
        yield Known(f"shot {site.survey.names[i]}", (float(east), float(north)), SHOT)
