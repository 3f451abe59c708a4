"""What the drawings show of the stage values: the ground in view, the top of the mound, where the sections run."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely
from shapely.geometry import LineString, Point, Polygon, box

from terrain.files import Grade, graded
from terrain.flow import Study
from terrain.grid import Array, Grid
from terrain.ground import Ground
from terrain.look import Look, look_of
from terrain.shape import Proposal
from terrain.site import Site, Tree, flare_radius, keep_off_radius, root_zone_radius
from terrain.soil import Earthwork, Order, order_soil
from viewer.page.sheet import Bounds


@dataclass(frozen=True)
class DrawingOptions:
    """What a person asked of the drawings.

    `interval` is that between contours in metres, `paper` a key of `terrain.papers.NAMED`; None: free.
    """

    interval: float | None = None
    paper: str | None = None


# Shares of the bed's length: what a section through a place shows beyond the bed, and how near to the top it is cut
# across the bed.
_BEYOND, _NEAR = 0.1, 0.08
CHOSEN = DrawingOptions()  # nothing is asked: the drawing chooses


@dataclass(frozen=True)
class Subject:
    """The stage values that a drawing reads, together, and what was asked of it.

    `grade` is that of the proposal: as it stands once settled, or as it is built on day one. Every drawing names it.
    """

    site: Site
    ground: Ground
    proposal: Proposal
    work: Earthwork
    asked: DrawingOptions = CHOSEN
    grade: Grade = "finished"

    @cached_property
    def order(self) -> Order:
        """What is bought for the work; worked out when first asked for."""
        return order_soil(self.site, self.work)

    @cached_property
    def look(self) -> Look:
        """The signs of an unnatural shape; worked out when first asked for."""
        return look_of(self.site, self.ground, self.proposal)


@dataclass(frozen=True)
class TreeCircles:
    """A tree's circles: centre (metres) and the radii of flare, keep-off and root zone in metres."""

    tree: Tree
    flare: float
    keep_off: float
    root_zone: float

    def circle(self, radius: float) -> Polygon:
        """A circle about the trunk as an area, metres."""
        return Point(self.tree.at).buffer(radius, quad_segs=48)


@dataclass(frozen=True)
class SectionLine:
    """A straight section: its letter, and its two ends in metres."""

    letter: str
    start: tuple[float, float]
    end: tuple[float, float]

    @property
    def length(self) -> float:
        """Length in metres."""
        return float(np.hypot(self.end[0] - self.start[0], self.end[1] - self.start[1]))

    @property
    def line(self) -> LineString:
        """The section as a line, metres."""
        return LineString([self.start, self.end])

    def places(self, stations: Array) -> Array:
        """(n, 2) places in metres at distances (n,) from the start, metres."""
        start, end = np.array(self.start), np.array(self.end)
        return start + np.outer(stations / self.length, end - start)


def subject_of(study: Study, asked: DrawingOptions = CHOSEN, grade: Grade = "finished") -> Subject:
    """The stages of a study at a grade, with the order and the look that are in it."""
    subject = Subject(study.site, study.ground, graded(study, grade), study.work, asked, grade)
    vars(subject).update(order=study.order, look=study.review.look)  # where a cached property looks first
    return subject


def tree_circles(site: Site) -> tuple[TreeCircles, ...]:
    """Every tree's circles, by the site's root zone rule."""
    rule = site.trees.rule
    return tuple(
        TreeCircles(
            tree, flare_radius(tree), keep_off_radius(tree, rule), root_zone_radius(rule, tree.trunk, tree.dripline)
        )
        for tree in site.tree
    )


def structures(site: Site) -> list[Polygon]:
    """Outlines of the buildings and of the ground kept clear, metres."""
    outlines = [building.outline for building in site.building]
    return outlines + [clear.outline for clear in site.keep_clear]


def yard_bounds(grid: Grid) -> Bounds:
    """West, south, east, north of the grid, metres."""
    return grid.x0, grid.y0, grid.x0 + grid.cell * (grid.nx - 1), grid.y0 + grid.cell * (grid.ny - 1)


def top_of_mound(proposal: Proposal) -> tuple[float, float, float]:
    """Place (metres) and height over existing grade (metres) of the mound's highest point.

    Where the limits leave no mound at all, the middle of the bed at height 0.
    """
    if not proposal.fill.max() > 0.0:
        middle = proposal.worked.representative_point()
        return float(middle.x), float(middle.y), 0.0
    row, column = np.unravel_index(int(np.argmax(proposal.fill)), proposal.grid.shape)
    grid = proposal.grid
    return float(grid.x[column]), float(grid.y[row]), float(proposal.fill[row, column])


def _sides(outline: Polygon) -> tuple[Array, Array]:
    """Two neighbouring sides (2, 2) of the smallest rectangle round an outline, and their lengths (2,), metres."""
    corners = shapely.get_coordinates(shapely.minimum_rotated_rectangle(outline))
    sides = np.diff(corners[:3], axis=0)
    return sides, np.hypot(sides[:, 0], sides[:, 1])


def bed_sides(outline: Polygon) -> tuple[float, float]:
    """Longer and shorter side of the smallest rectangle round an outline, metres."""
    _, lengths = _sides(outline)
    return float(lengths.max()), float(lengths.min())


def long_axis(outline: Polygon) -> tuple[Array, float]:
    """Unit direction (2,) along the bed's longer side, pointing east (or north), and that side's length in metres."""
    sides, lengths = _sides(outline)
    side = sides[int(np.argmax(lengths))]
    direction = side / np.hypot(*side)
    if direction[0] < -1e-9 or (abs(direction[0]) <= 1e-9 and direction[1] < 0):
        direction = -direction
    return direction, float(lengths.max())


def section_lines(site: Site, proposal: Proposal) -> tuple[SectionLine, SectionLine]:
    """Section A along the bed's long axis and B across it, both through the top of the mound, metres.

    Each runs from edge to edge of the bed and a little beyond, within the yard.
    """
    east, north, _ = top_of_mound(proposal)
    direction, _ = long_axis(site.bed.outline)
    across = np.array([-direction[1], direction[0]])
    yard = box(*yard_bounds(proposal.grid))
    top = np.array([east, north])
    first = _through(top, direction, site.bed.outline, yard)
    second = _through(top, across, site.bed.outline, yard)
    return SectionLine("A", *first), SectionLine("B", *second)


def section_at(site: Site, proposal: Proposal, at: tuple[float, float]) -> SectionLine:
    """The section that shows a place (metres): through it and the top of the mound, or across the bed at the top.

    From edge to edge of the bed and a little beyond; it has no letter.
    """
    outline = site.bed.outline
    long, _ = bed_sides(outline)
    spot = np.array(at)
    way = np.array(top_of_mound(proposal)[:2]) - spot
    if np.hypot(*way) < _NEAR * long:
        axis, _ = long_axis(outline)
        way = np.array([-axis[1], axis[0]])
    way = way / np.hypot(*way)
    ray = LineString([spot - 3.0 * long * way, spot + 3.0 * long * way])
    along = np.append((shapely.get_coordinates(ray.intersection(outline)) - spot) @ way, 0.0)
    ends = spot + np.outer([along.min() - _BEYOND * long, along.max() + _BEYOND * long], way)
    return SectionLine("", (float(ends[0, 0]), float(ends[0, 1])), (float(ends[1, 0]), float(ends[1, 1])))


def _through(
    top: Array, direction: Array, bed: Polygon, yard: Polygon
) -> tuple[tuple[float, float], tuple[float, float]]:
    """Ends of the section through `top`: the bed's outermost crossings and a tenth more, kept in the yard."""
    reach = float(np.hypot(*(np.array(yard.bounds[2:]) - np.array(yard.bounds[:2]))))
    ray = LineString([top - reach * direction, top + reach * direction])
    chord = (shapely.get_coordinates(ray.intersection(bed)) - top) @ direction
    inside = (shapely.get_coordinates(ray.intersection(yard)) - top) @ direction
    if chord.size == 0:  # the top lies on the edge of a bed no wider than a cell
        chord = np.zeros(1)
    beyond = max(0.12 * float(np.ptp(chord)), 1.0)
    low, high = max(chord.min() - beyond, inside.min()), min(chord.max() + beyond, inside.max())
    ends = top + np.outer([low, high], direction)
    return (float(ends[0, 0]), float(ends[0, 1])), (float(ends[1, 0]), float(ends[1, 1]))


def needed_ground(site: Site, grid: Grid) -> Bounds:
    """The ground a plan must show, metres: bed, trees with their keep-off, and what stands near, within the yard."""
    bed = box(*site.bed.outline.bounds)
    near = bed.buffer(0.5 * long_axis(site.bed.outline)[1], join_style="mitre")
    shapes = [bed.buffer(1.2, join_style="mitre")]
    shapes += [
        box(*circles.circle(circles.keep_off).bounds)
        for circles in tree_circles(site)
        if near.intersects(Point(circles.tree.at))
    ]
    shapes += [outline.intersection(near) for outline in structures(site) if near.intersects(outline)]
    yard = box(*yard_bounds(grid))
    shown = shapely.union_all(shapes).intersection(yard)
    west, south, east, north = shown.bounds if not shown.is_empty else yard.bounds
    return west, south, east, north
