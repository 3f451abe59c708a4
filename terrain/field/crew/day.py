"""The day in order: what there is to do at each step, and the hours that it takes by hand."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from shapely.geometry import LineString, Point

from terrain.field.crew.barrow_squares import BarrowSquares
from terrain.flow import Study
from terrain.limits import FOOT, YARD
from terrain.review import TreeCheck
from terrain.site import HOUR, Site

Step = Literal["locate", "fence", "set out", "strip", "dig", "build", "shape", "stream", "check", "mulch"]


@dataclass(frozen=True)
class Pace:
    """What one person does in an hour, in the unit of the amount: at least, as a rule, at most; and who says so."""

    low: float
    likely: float
    high: float
    source: str


_CY, _SF = YARD**3, FOOT**2  # m3, m2
# What one person does in an hour, m3 or m2. Published figures for hand work lie far apart and seldom say what they
# include, so three of them are kept.
PACES: dict[Step, Pace] = {
    "set out": Pace(900.0 * _SF, 900.0 * _SF, 900.0 * _SF, "contractors' forum, 2003: half an hour for 450 sq ft"),
    "strip": Pace(90.0 * _SF, 125.0 * _SF, 225.0 * _SF, "contractors' forums: sod by hand, 90 to 225 sq ft an hour"),
    "dig": Pace(0.37 * _CY, 0.55 * _CY, 0.86 * _CY, "Guild of Project Controls, Compendium: pits by hand"),
    "build": Pace(
        0.4 * _CY,
        0.85 * _CY,
        1.5 * _CY,
        "ILO Technical Brief 2 (1998) at the slow end, contractors' forums at the quick end: load, wheel, spread",
    ),
    "shape": Pace(8.33, 9.09, 11.11, "Guild of Project Controls, Compendium: trimming by hand, taken as m2 an hour"),
    "mulch": Pace(1.0 * _CY, 1.5 * _CY, 3.0 * _CY, "contractors' forums, 2003-2005: barrow and spread mulch"),
}


@dataclass(frozen=True)
class Task:
    """One step: its amount in m2, m3 or a count (None: none to tell), and hours of one person at the three paces.

    `hours` is (quick, likely, slow); None where no rate is published. `stated` is True where the pace is the user's.
    """

    step: Step
    amount: float | None = None
    hours: tuple[float, float, float] | None = None
    stated: bool = False


@dataclass(frozen=True)
class HoldPoint:
    """Where work waits for a yes: of whom ("tree", "buried line", "overhead line", "wall", "review") and its name."""

    kind: str
    name: str
    keep_off: float = 0.0


@dataclass(frozen=True)
class WayIn:
    """The barrows' way: length in metres where it is known, the narrowest place, and planks over roots by tree."""

    length: float | None
    gate: float | None
    planks: tuple[tuple[str, float], ...]
    heaps: tuple[str, ...]


@dataclass(frozen=True)
class CrewDay:
    """All that the crew's sheet tells: the steps, where work waits, the way in, the squares, and how many people."""

    people: int
    tasks: tuple[Task, ...]
    holds: tuple[HoldPoint, ...]
    way: WayIn
    squares: BarrowSquares

    @property
    def hours(self) -> tuple[float, float, float]:
        """Hours of one person for all steps that have a rate: quick, likely, slow."""
        known = [task.hours for task in self.tasks if task.hours is not None]
        quick, likely, slow = (sum(column) for column in zip(*known, strict=True)) if known else (0.0, 0.0, 0.0)
        return quick, likely, slow


def day_of(study: Study, squares: BarrowSquares) -> CrewDay:
    """The crew's day for a yard whose soil lies in squares."""
    tasks = tuple(_tasks(study, squares))
    return CrewDay(study.site.crew.people, tasks, tuple(_holds(study)), way_in(study), squares)


def _tasks(study: Study, squares: BarrowSquares) -> Iterator[Task]:
    work, crew = study.work, study.site.crew
    yield Task("locate")
    if study.review.trees:
        yield Task("fence", float(len(study.review.trees)))
    yield _timed("set out", work.worked_area, None)
    if work.sod > 0.0 or work.topsoil > 0.0:
        yield _timed("strip", work.worked_area, crew.strip)
    dug = work.cut_below_sod + work.trench
    if dug > 0.0:
        yield _timed("dig", dug, crew.dig)
    yield _timed("build", squares.barrow * (squares.bought + squares.of_the_yard), crew.move)
    yield _timed("shape", work.worked_area, None)
    sills = sum(len(needs.materials.parts.sills) for needs in study.streams)
    if sills:
        yield Task("stream", float(sills))
    yield Task("check")
    mulch = sum(item.quantity for item in study.order.covers if item.name == "mulch")
    if mulch > 0.0:
        yield _timed("mulch", mulch, crew.mulch)


def _timed(step: Step, amount: float, stated: float | None) -> Task:
    """A step with its hours: at the user's own pace (SI, a second) where there is one."""
    pace = PACES[step]
    paces = (pace.high, pace.likely, pace.low) if stated is None else (stated * HOUR,) * 3
    quick, likely, slow = (amount / one for one in paces)
    return Task(step, amount, (quick, likely, slow), stated is not None)


def _holds(study: Study) -> Iterator[HoldPoint]:
    if study.review.stopped:
        stops = sum(finding.level == "stop" for finding in study.review.findings)
        yield HoldPoint("review", str(stops))
    for tree in trees_reached(study):
        yield HoldPoint("tree", tree.name, tree.keep_off)
    for thing in study.site.thing:
        if thing.kind in ("buried line", "septic", "overhead line", "wall"):
            yield HoldPoint("buried line" if thing.kind == "septic" else thing.kind, thing.name)
    for edge in study.site.retained_edge:
        yield HoldPoint("wall", edge.name)


def trees_reached(study: Study) -> list[TreeCheck]:
    """The trees whose root zone the work comes into."""
    return [tree for tree in study.review.trees if tree.share_of_root_zone_disturbed > 0.0]


def way_in(study: Study) -> WayIn:
    """How barrows come from the heap to the mound, and where planks go over roots.

    Where the site file names no way, it is the straight line from the heap; without a heap nothing is known of it.
    """
    site = study.site
    line = _way_line(site, study)
    planks = []
    for tree in study.review.trees if line is not None else ():
        # Planks beside the mound: on it, barrows run on soil.
        zone = Point(tree.at).buffer(tree.root_zone, quad_segs=48).difference(study.proposal.worked)
        over = line.intersection(zone).length if line is not None else 0.0
        if over > 0.0:
            planks.append((tree.name, float(over)))
    length = None if line is None else float(line.length)
    return WayIn(length, site.crew.gate, tuple(planks), tuple(heap.name for heap in site.heap))


def _way_line(site: Site, study: Study) -> LineString | None:
    if site.crew.way is not None:
        return LineString(site.crew.way)
    if not site.heap or study.proposal.worked.is_empty:
        return None
    start, end = site.heap[0].outline.centroid, study.proposal.worked.centroid
    return LineString([start, end]) if start.distance(end) > 0.0 else None
