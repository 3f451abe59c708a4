"""A yard and a design out of somebody else's plan: no site file, no berm of ours."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import shapely
from shapely.geometry import LineString, MultiPoint, Point, Polygon

from terrain.errors import Faults, InputError
from terrain.grid import Array, frozen
from terrain.limits import CONTOUR_ACCURACY, ENGINEERED_SLOPE, PLAN_ACROSS
from terrain.site.checks import FARTHEST_ROOTS, check_plan_site
from terrain.site.model import Bed, Berm, Building, Site, Tree, TreeRule
from terrain.site.plan_edge import rings_of, work_edge
from terrain.site.survey import Survey
from terrain.spellings import SI
from terrain.survey import (
    BOUNDARY,
    BUILDING,
    EXISTING,
    GRADES,
    PROPOSED,
    TREES,
    DrawnPlan,
    PlanHeights,
    PlanTree,
    PlanUses,
    check_grades,
    heights_of,
    in_metres,
    not_clear,
    read_plan,
    trees_of,
    uses_of,
)
from terrain.units import Units, parse_length, show_length

_SPOTS_AIMED = 1500  # places of existing grade that the ground is modelled from
_STRAIGHT = 0.01  # metres: corners nearer to the line without them say nothing
_FACES_MOST = 6000  # corners of faces that a grade is taken from
_AROUND = 1.0  # diagonals of the work beyond it that existing grade is taken from
_THICK = 1.0  # metres: a trunk that the plan does not tell is taken as so thick where only its reach is asked
_NAMED = 8  # trees that one note names
_SAME_UNIT = 1e-4  # the two feet differ by 2 parts in a million


@dataclass(frozen=True)
class PlanOptions:
    """How somebody says that a plan is to be taken, where it does not say so itself.

    Parameters
    ----------
    layers
        Layers by use (`terrain.survey.plan.name_words.USES`).
    unit
        Of the drawing: "ft", "in", "m", "cm" or "mm"; "": as the drawing says.
    trunk_unit
        Of bare trunk figures; "": found.
    trunks
        Trunk diameters in metres by the name of the tree; under "" the one of all others.
    rule
        Root zone rule; "": the usual one.
    slope
        Steepest side that is allowed, rise/run; None: the one beyond which an engineer is asked.
    """

    layers: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    unit: str = ""
    trunk_unit: str = ""
    trunks: Mapping[str, float] = field(default_factory=dict)
    rule: str = ""
    slope: float | None = None


@dataclass(frozen=True)
class PlanDesign:
    """A design by somebody else: the yard, proposed grade, what its layers were taken for, and what was assumed."""

    site: Site
    proposed: PlanHeights
    uses: PlanUses
    assumed: tuple[str, ...]


def read_design(path: Path, asked: PlanOptions) -> PlanDesign:
    """Read somebody else's plan (DXF) as a yard with existing and proposed grade, its trees and the edge of the work.

    Raises
    ------
    InputError
        From the reader; where the plan does not say what is needed, with what each layer looks like and was taken for.
    """
    label = path.name
    drawn = read_plan(path, label)
    unit, units, notes = _unit(drawn, asked.unit)
    plan = in_metres(drawn, unit)
    uses = uses_of(plan, asked.layers, units)
    check_grades(plan, uses)
    figure = SI["foot"] if units == "ft" else 1.0
    layers = {grade: uses.layers(grade) for grade in GRADES}
    existing, proposed = (heights_of(plan, layers, grade, figure) for grade in GRADES)
    for grade, heights in ((EXISTING, existing), (PROPOSED, proposed)):
        _refuse_few(plan, uses, grade, heights)
    outline, said = work_edge(plan, uses, existing, proposed, units)
    _check_size(label, outline, units)
    trees, more = _trees(plan, uses, outline, units, asked)
    survey, told = _survey(label, existing, outline, trees)
    site = Site(
        name=path.stem,
        units=units,
        survey=survey,
        bed=Bed(outline),
        berm=Berm(ENGINEERED_SLOPE.value if asked.slope is None else asked.slope, ()),
        tree=trees,
        trees=TreeRule(asked.rule) if asked.rule else TreeRule(),
        building=_buildings(plan, uses),
        boundary=_boundary(plan, uses),
        path=path,
    )
    taken = f"{label}: existing grade from {existing.words}; proposed grade from {proposed.words}."
    assumed = (*notes, taken, *existing.notes, *proposed.notes, *said, *told, *more, *_unread(drawn))
    return PlanDesign(check_plan_site(site, label), proposed, uses, assumed)


def _unit(plan: DrawnPlan, asked: str) -> tuple[float, Units, list[str]]:
    """Metres in a drawing unit, the units of the answers, and what was taken."""
    if not asked and plan.unit is None:
        raise InputError(plan.label, "the drawing does not say its unit.", "State it: --units ft, in, m, cm or mm.")
    own = parse_length(f"1 {asked}", "m", "--units") if asked else plan.unit or 1.0
    units: Units = "ft" if _is_unit(own, "inch", "foot", "yard") else "m"
    return own, units, list(_unit_notes(plan, asked, own, units))


def _unit_notes(plan: DrawnPlan, asked: str, own: float, units: Units) -> Iterator[str]:
    if asked and not math.isclose(own, plan.unit or own, rel_tol=_SAME_UNIT):
        yield f"{plan.label}: the drawing names another unit than {asked}, which was taken as asked."
    if not _is_unit(own, "foot", "metre"):
        yield f"{plan.label}: figures that it writes as elevations were taken in {units}."


def _is_unit(metres: float, *names: str) -> bool:
    return any(math.isclose(metres, SI[name], rel_tol=_SAME_UNIT) for name in names)


def _refuse_few(plan: DrawnPlan, uses: PlanUses, grade: str, heights: PlanHeights) -> None:
    corners = heights.corners
    if len(corners) >= 3 and np.ptp(corners[:, :2], axis=0).min() > 0.0:
        return
    problem = f"{', '.join(uses.layers(grade))} gives {grade} grade {len(corners) or 'no'} places with an elevation."
    raise not_clear(
        plan,
        uses,
        " ".join([problem, *heights.notes]),
        "Accepted: contours at their elevation or with their figures on them, spot elevations, faces.",
    )


def _check_size(label: str, outline: Polygon, units: Units) -> None:
    """Refuse work so small or so wide that the drawing is in another unit."""
    west, south, east, north = outline.bounds
    across = max(east - west, north - south)
    least, most = (bound.value for bound in PLAN_ACROSS)
    if not least <= across <= most:
        shown = show_length(across, units, "distance")
        raise InputError(
            label,
            f"the work is {shown} across, which is no yard: the drawing is in another unit, or another layer is meant.",
            "State it: --units ft, in, m, cm or mm, or --layer outline=NAME.",
        )


def _buildings(plan: DrawnPlan, uses: PlanUses) -> tuple[Building, ...]:
    rings = rings_of(plan, uses.layers(BUILDING))
    return tuple(
        Building("building" if len(rings) == 1 else f"building {number}", ring)
        for number, (_, ring) in enumerate(rings, start=1)
    )


def _boundary(plan: DrawnPlan, uses: PlanUses) -> Polygon | None:
    """The lot line, where the plan draws one closed line of it."""
    rings = rings_of(plan, uses.layers(BOUNDARY))
    return rings[0][1] if len(rings) == 1 else None


def _trees(
    plan: DrawnPlan, uses: PlanUses, outline: Polygon, units: Units, asked: PlanOptions
) -> tuple[tuple[Tree, ...], list[str]]:
    """The trees that stand near enough, with their trunks; refused, all at once, where a trunk is missing."""
    layers = uses.layers(TREES)
    if not layers:
        accepted = "Name the layer: --layer trees=NAME."
        raise not_clear(plan, uses, "no layer says that it carries trees.", accepted)
    found, notes = trees_of(plan, layers, units, asked.trunk_unit)
    if not found:
        raise not_clear(plan, uses, f"{', '.join(layers)} holds no tree.", "Accepted: symbols or circles, one a tree.")
    _refuse_unknown(plan.label, found, asked)
    near, far = _near_work(plan.label, found, outline, units)
    faults = Faults()
    trees = []
    for tree in near:
        with faults.kept():
            trees.append(_tree(tree, asked, plan))
    faults.refuse()
    return tuple(trees), [*(f"{plan.label}: {note}." for note in notes), *far]


def _near_work(
    label: str, found: Sequence[PlanTree], outline: Polygon, units: Units
) -> tuple[list[PlanTree], list[str]]:
    """The trees whose roots might reach the work, and a note on the others; refused where there are others alone."""
    west, south, east, north = outline.bounds
    half = 0.5 * math.hypot(east - west, north - south)

    def is_near(tree: PlanTree) -> bool:
        roots = max(FARTHEST_ROOTS * (tree.trunk or _THICK), 2.0 * (tree.dripline or 0.0))
        return bool(outline.distance(Point(tree.at)) <= max(half, roots))

    near = list(filter(is_near, found))
    if not near:
        nearest = min(found, key=lambda tree: outline.distance(Point(tree.at)))
        away = show_length(outline.distance(Point(nearest.at)), units, "distance")
        problem = f'no tree stands near the work: the nearest, "{nearest.name}", is {away} off it.'
        raise InputError(label, problem, "Its roots do not reach; if another layer is meant, --layer trees=NAME.")
    far = [tree.name for tree in found if not is_near(tree)]
    named = ", ".join(far[:_NAMED]) + (f" and {len(far) - _NAMED} more" if len(far) > _NAMED else "")
    return near, [f"{label}: too far off the work for roots to reach it, and not checked: {named}."] if far else []


def _refuse_unknown(label: str, found: Sequence[PlanTree], asked: PlanOptions) -> None:
    """Refuse a trunk that is stated for a tree that is not there."""
    known = [tree.name for tree in found]
    for name in asked.trunks:
        if name and name not in known:
            raise InputError(
                f"--trunk {name}", f'{label} has no tree "{name}".', f"Its trees: {', '.join(known[:20])}."
            )


def _tree(tree: PlanTree, asked: PlanOptions, plan: DrawnPlan) -> Tree:
    stated = asked.trunks.get(tree.name)
    trunk = stated if stated is not None else tree.trunk
    if trunk is None and tree.girth is None:
        trunk = asked.trunks.get("")
    if trunk is None and tree.girth is None:
        raise InputError(
            f'{plan.label} tree "{tree.name}"',
            "the plan does not say how thick its trunk is.",
            f'Measure it and state it: --trunk "{tree.name}=24 in", or --trunk "24 in" for all that have none.',
        )
    return Tree(
        tree.name,
        tree.at,
        trunk=trunk or 0.0,
        girth=tree.girth if trunk is None else None,
        dripline=tree.dripline,
        keep_off=tree.keep_off,
        species=tree.species,
    )


def _survey(label: str, existing: PlanHeights, outline: Polygon, trees: Sequence[Tree]) -> tuple[Survey, list[str]]:
    """Existing grade about the work as the shots of a survey."""
    west, south, east, north = outline.bounds
    reach = _AROUND * math.hypot(east - west, north - south)
    window = shapely.union_all([outline.buffer(reach), *(Point(tree.at).buffer(1.0) for tree in trees)]).envelope
    faceted = len(existing.faces) > 0
    places = corners_of(existing.faces, window) if faceted else spread_over(existing, window)
    names = tuple(f"{label} place {number}" for number in range(1, len(places) + 1))
    survey = Survey(
        shots=frozen(places),
        names=names,
        codes=("",) * len(places),
        accuracy=CONTOUR_ACCURACY.value,
        surface="triangulation" if faceted else "kriging",
        file=label,
    )
    notes = []
    if not MultiPoint(places[:, :2]).convex_hull.covers(outline):
        notes.append(f"{label}: existing grade is not drawn under all of the work; there it was carried on.")
    if existing.contours and not faceted:
        notes.append(f"{label}: contours are trusted to half their interval at best; between them grade is a guess.")
    return survey, notes


def corners_of(faces: Array, window: Polygon) -> Array:
    """(n, 3) corners of faces inside a window, each once."""
    corners = np.unique(np.round(faces.reshape(-1, 3), 6), axis=0)
    inside = shapely.contains_xy(window, corners[:, 0], corners[:, 1])
    kept = corners[inside] if inside.sum() >= 3 else corners
    return np.asarray(kept[:: 1 + len(kept) // _FACES_MOST])


def spread_over(heights: PlanHeights, window: Polygon, aimed: int = _SPOTS_AIMED) -> Array:
    """(n, 3) about `aimed` places with an elevation inside a window: spots as they are, lines by even steps."""
    lines = [*heights.contours, *heights.lines]
    plans = [LineString(line[:, :2]) for line in lines]
    length = sum(plan.intersection(window).length for plan in plans)
    step = max(length / aimed, 0.1)
    parts = [heights.spots] + [_stepped(line, plan, step) for line, plan in zip(lines, plans, strict=True)]
    places = np.vstack(parts)
    inside = shapely.contains_xy(window, places[:, 0], places[:, 1])
    return np.asarray(places[inside] if inside.sum() >= 3 else places)


def _stepped(line: Array, plan: LineString, step: float) -> Array:
    """Places along a line at even steps, both its ends among them, (n, 3)."""
    count = max(1, math.ceil(plan.length / step))
    along = np.linspace(0.0, plan.length, count + 1)
    spots = shapely.get_coordinates(shapely.line_interpolate_point(plan, along))
    lengths = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line[:, :2], axis=0).T))])
    return np.column_stack([spots, np.interp(along, lengths, line[:, 2])])


def _unread(plan: DrawnPlan) -> list[str]:
    if not plan.unread:
        return []
    told = ", ".join(f"{count} {kind}" for kind, count in sorted(plan.unread.items()))
    return [f"{plan.label}: not read: {told}."]
