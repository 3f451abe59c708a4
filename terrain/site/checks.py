"""What the parts of a site must agree on: bed on survey, crest in bed, trees in the yard."""

from __future__ import annotations

import math
from dataclasses import replace

from shapely import Geometry, box, total_bounds
from shapely.affinity import scale
from shapely.geometry import LineString, MultiPoint, Point, Polygon

from terrain.errors import InputError
from terrain.limits import CREST_APART
from terrain.site.feature_checks import settled_features
from terrain.site.model import Site, Soil
from terrain.site.prices import with_short
from terrain.site.root_zones import check_rule
from terrain.site.spreads import check_spreads
from terrain.site.stream_checks import check_streams
from terrain.site.trees import settled_trees, tree_key
from terrain.survey import settled_survey
from terrain.units import as_written, show_length, show_place, unit_length

# A tree this many trunk diameters off the yard sends no published root zone into it (1.5 ft per inch is 18).
FARTHEST_ROOTS = 18.0
_FLOOR_REACH = 20.0  # metres between a floor and the shots about it; common practice, no published source
_ON_THE_GROUND = 0.9  # of an area that another unit would bring onto the ground; common practice, no published source
_MOST_NODES = 10_000_000  # grid nodes that a small machine still holds several arrays of


def check_site(site: Site, label: str = "site") -> Site:
    """The same site, checked as a whole and settled.

    Repeated shots are left out (`site.survey.notes` says which), a flare that was not measured takes its default, the
    root zone rule its full name and a basin its outline. `read_site` has done this; a `Site` built in Python may pass
    through here.

    Parameters
    ----------
    site
        The site, in SI units.
    label
        Opens every message: the path of the site file.

    Raises
    ------
    InputError
        Where the parts contradict each other; the message names the key and says what would be accepted.
    """
    settled = _settled(site, label)
    _check_crest(settled, label)
    featured = settled_features(settled, _yard(settled), label)
    check_streams(featured, _yard(settled), label)
    return featured


def check_plan_site(site: Site, label: str) -> Site:
    """The same for a yard whose design somebody else drew: it has no crest, and nothing that we would shape."""
    return _settled(site, label)


def _settled(site: Site, label: str) -> Site:
    """The site with survey, trees and soil settled, checked but for its crest and what is shaped with it."""
    rule = _settled_rule(site, label)
    settled = replace(
        site,
        survey=settled_survey(site.survey, site.units, label),
        tree=settled_trees(site, rule, label),
        trees=replace(site.trees, rule=rule),
        soil=_settled_soil(site.soil),
    )
    _check_prices(settled, label)
    check_spreads(settled, label)
    check_bed(settled, label)
    _check_trees_stand_in_the_yard(settled, label)
    _check_surroundings(settled, label)
    _check_things(settled, label)
    _check_floors(settled, label)
    _check_cell(settled, label)
    return settled


def _settled_soil(soil: Soil) -> Soil:
    """The soil with its shrink as a share of the bank volume."""
    if soil.shrink_of == "bank":
        return soil
    left = 1.0 / (1.0 + soil.shrink)
    spread = None if soil.shrink_spread is None else soil.shrink_spread * left * left
    return replace(soil, shrink=1.0 - left, shrink_spread=spread, shrink_of="bank")


def _check_prices(site: Site, label: str) -> None:
    """No price is said twice."""
    try:
        with_short(site.prices, site.soil)
    except InputError as error:
        raise InputError(f"{label} {error.where}", error.problem, error.accepted) from None


def _settled_rule(site: Site, label: str) -> str:
    try:
        return check_rule(site.trees.rule)
    except InputError as error:
        raise InputError(f"{label} {error.where}", error.problem, error.accepted) from None


def check_bed(site: Site, label: str) -> None:
    """The bed lies on surveyed ground, at least in part, and in the same units."""
    where = f"{label} [bed] outline"
    outline = site.bed.outline
    hull = MultiPoint(site.survey.shots[:, :2]).convex_hull
    factor = _factor_that_fits(outline, hull)
    inside = outline.intersection(hull).area / outline.area
    if inside == 0.0:
        away = show_length(outline.distance(hull), site.units, "distance")
        raise InputError(
            where,
            f"the bed lies wholly off the surveyed ground, {away} from it.{_mixed(factor)}",
            "Accepted: an outline in the coordinates and units of the shots.",
        )
    if factor and inside < 0.5 and _far_beyond(outline, hull):
        raise InputError(
            where,
            f"only {inside:.0%} of the bed lies on the surveyed ground.{_mixed(factor)}",
            "Accepted: an outline in the coordinates and units of the shots.",
        )


def _factor_that_fits(thing: Geometry, ground: Geometry) -> float | None:
    """The factor between feet and metres that would bring a thing onto the ground, or all but a little of it."""
    for factor in (0.3048, 1.0 / 0.3048):
        scaled = scale(thing, factor, factor, origin=(0.0, 0.0))
        if scaled.within(ground) or scaled.intersection(ground).area > _ON_THE_GROUND * scaled.area:
            return factor
    return None


def _mixed(factor: float | None) -> str:
    """The hint on mixed units, where a factor brings things together."""
    if factor is None:
        return ""
    return f" Its coordinates times {factor:.4g} lie among the shots, so feet and metres look mixed."


def _far_beyond(outline: Geometry, hull: Geometry) -> bool:
    """The outline reaches past the surveyed ground by more than half of that ground's diagonal."""
    west, south, east, north = hull.bounds
    reach = 0.5 * math.hypot(east - west, north - south)
    return not outline.within(box(west - reach, south - reach, east + reach, north + reach))


def _yard(site: Site) -> Polygon:
    """The rectangle around the shots and the bed, metres."""
    return box(*total_bounds([MultiPoint(site.survey.shots[:, :2]), site.bed.outline]))


def _check_trees_stand_in_the_yard(site: Site, label: str) -> None:
    """A tree may stand beyond the fence, but not so far that neither the yard nor its roots reach across."""
    yard = _yard(site)
    west, south, east, north = yard.bounds
    for i, tree in enumerate(site.tree, start=1):
        away = yard.distance(Point(tree.at))
        roots = max(FARTHEST_ROOTS * tree.trunk, 2.0 * (tree.dripline or 0.0))
        if away > max(0.5 * max(east - west, north - south), roots):
            raise InputError(
                f"{tree_key(label, i, tree)} at",
                f"{show_place(*tree.at, site.units)} is outside the yard, "
                f"{show_length(away, site.units, 'distance')} from it."
                f"{_mixed(_factor_that_fits(Point(tree.at), yard))}",
                f"The shots and the bed span {show_place(west, south, site.units)} to "
                f"{show_place(east, north, site.units)}.",
            )


def _check_surroundings(site: Site, label: str) -> None:
    """Walks and heaps lie in the yard, at least in part, and the lot line goes round some of the bed."""
    yard = _yard(site)
    things = [(f'[[walk]] {i} "{w.name}" line', LineString(w.line), yard) for i, w in enumerate(site.walk, start=1)]
    things += [(f'[[heap]] {i} "{h.name}" outline', h.outline, yard) for i, h in enumerate(site.heap, start=1)]
    if site.boundary is not None:
        things.append(("boundary", site.boundary, site.bed.outline))
    for key, thing, ground in things:
        if not thing.intersects(ground):
            noun = "the yard" if ground is yard else "the bed"
            away = show_length(thing.distance(ground), site.units, "distance")
            raise InputError(
                f"{label} {key}",
                f"lies wholly off {noun}, {away} from it.{_mixed(_factor_that_fits(thing, ground))}",
                "Accepted: a place in the coordinates and units of the shots.",
            )


def _check_things(site: Site, label: str) -> None:
    """A thing lies in the yard or near it, a corner is one place, and nothing that is there is said to be missing."""
    yard = _yard(site)
    west, south, east, north = yard.bounds
    for i, thing in enumerate(site.thing, start=1):
        if thing.kind in site.none_here:
            problem = f'there is none of kind {as_written(thing.kind)} by none_here, and here is "{thing.name}".'
            raise InputError(f"{label} [[thing]] {i} kind", problem, "Accepted: the one or the other.")
        where = f'{label} [[thing]] {i} "{thing.name}" line'
        away = yard.distance(thing.shape)
        if away > max(east - west, north - south):
            raise InputError(
                where,
                f"it lies {show_length(away, site.units, 'distance')} off the yard."
                f"{_mixed(_factor_that_fits(thing.shape, yard))}",
                "Accepted: a place in the coordinates and units of the shots.",
            )
        if thing.kind == "corner" and len(thing.line) != 1:
            raise InputError(where, f"a corner of {len(thing.line)} points.", "Accepted: one place, such as [[50, 0]].")
        if not thing.shape.is_valid:
            raise InputError(where, "its outline crosses itself.", "List its corners in order.")


def _check_crest(site: Site, label: str) -> None:
    """Every crest point rises from the bed."""
    where = f"{label} [berm] crest"
    if not site.berm.crest:
        raise InputError(
            where,
            "there is no crest point.",
            'Add at least one: crest = [[x, y, height]], height such as "22 in".',
        )
    _refuse_one_place(site, where)
    outline, yard = site.bed.outline, _yard(site)
    for i, point in enumerate(site.berm.crest, start=1):
        place = Point(point.x, point.y)
        if outline.covers(place):
            continue
        in_hole = Polygon(outline.exterior).covers(place)
        away = show_length(outline.distance(place), site.units, "distance")
        raise InputError(
            f"{where} point {i}",
            f"{show_place(point.x, point.y, site.units)} lies "
            f"{'in a hole of the bed' if in_hole else 'outside the bed'}, {away} from it."
            f"{'' if yard.covers(place) else _mixed(_factor_that_fits(place, outline))}",
            "Accepted: a place inside the bed outline.",
        )


def _refuse_one_place(site: Site, where: str) -> None:
    """Two crest points in one place would be two heights of one spot, or one written twice."""
    places = [(point.x, point.y) for point in site.berm.crest]
    for i, place in enumerate(places, start=1):
        first = next((j for j, other in enumerate(places[: i - 1], start=1) if _is_near(place, other)), None)
        if first is not None:
            raise InputError(
                f"{where} point {i}",
                f"it stands where point {first} stands, {show_place(*place, site.units)}.",
                "Keep one of them, or give each its own place.",
            )


def _is_near(one: tuple[float, float], other: tuple[float, float]) -> bool:
    return math.dist(one, other) < CREST_APART.value


def _check_floors(site: Site, label: str) -> None:
    """A building's levels stand near the ground, or a figure is in another unit or from another datum."""
    if not site.survey.measured:
        return  # the datum of a floor means nothing on ground that nobody measured
    elevations = site.survey.shots[:, 2]
    low, high = float(elevations.min()), float(elevations.max())
    for i, building in enumerate(site.building, start=1):
        for key in ("floor", "foundation_top", "siding", "sill"):
            stated = getattr(building, key)
            if stated is None or low - _FLOOR_REACH <= stated <= high + _FLOOR_REACH:
                continue
            ends = " to ".join(show_length(level, site.units, "elevation") for level in (low, high))
            raise InputError(
                f'{label} [[building]] {i} "{building.name}" {key}',
                f"{show_length(stated, site.units, 'elevation')} is far from the elevations of the shots, {ends}.",
                "Accepted: its elevation in the datum and units of the shots.",
            )


def _check_cell(site: Site, label: str) -> None:
    """A grid that fits in memory, and that has more than a handful of nodes."""
    cell = site.grid.cell
    if cell is None:
        return
    west, south, east, north = _yard(site).bounds
    nodes = (east - west) / cell * ((north - south) / cell)
    least = math.sqrt((east - west) * (north - south) / _MOST_NODES)
    most = min(east - west, north - south) / 4.0
    unit = unit_length(site.units)
    if nodes > _MOST_NODES or cell > most:
        raise InputError(
            f"{label} [grid] cell",
            f"cells of {cell / unit:g} {site.units} would give {nodes:,.0f} nodes.",
            f"Accepted: from {1.1 * least / unit:.2g} to {0.9 * most / unit:.2g} {site.units}; "
            "left out, a fitting size is chosen.",
        )
