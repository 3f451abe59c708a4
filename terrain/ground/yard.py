"""The grid over the yard: how far it reaches and how fine it is."""

from __future__ import annotations

import math

import numpy as np
from shapely.geometry import MultiPoint, Point, Polygon, box
from shapely.geometry.base import BaseGeometry
from shapely.ops import unary_union

from terrain.errors import InputError
from terrain.estimates import two_figures
from terrain.grid import Grid
from terrain.site import Site, Tree
from terrain.units import unit_length

_MARGIN = 3  # cells beyond the outermost thing
_FAR = 1.5  # bed diagonals beyond the bed's box after which the yard no longer matters to the berm
_ACROSS_BED = 200.0  # nodes along the bed's diagonal that the chosen cell aims for
_MOST_CHOSEN, _MOST_GIVEN = 150_000, 4_000_000  # nodes
_WORTH_A_WORD = 500_000  # nodes from which a run is told beforehand what it takes
# Of a whole run before drawing, measured on one core of an AMD EPYC with the first example at 0.5, 2 and 3.7 million
# nodes: 3, 9 and 16 s, 460, 1,090 and 1,820 MB.
_SECONDS_A_NODE, _BYTES_A_NODE, _BYTES_AT_ALL = 5e-6, 430.0, 250e6
_FEWEST_ACROSS = 20  # nodes across the bed's narrower side
_FRIENDLY = (1.0, 2.0, 2.5, 5.0)  # cells that a tape shows, times a power of ten, in the site's units

Box = tuple[float, float, float, float]


def yard_grid(site: Site) -> Grid:
    """Grid over the bed, shots, trees, keep-clear areas and buildings, none farther than 1.5 bed diagonals.

    The cell is the site's own, or a friendly size near 1/200 of the bed's diagonal, finer for a narrow bed, that
    keeps the grid at or under 150,000 nodes. Nodes are counted from the bed's south-west corner, so that a shifted
    site has the same nodes.

    Raises
    ------
    InputError
        Where the given cell makes over 4 million nodes or leaves fewer than 20 across the bed.
    """
    bounds = yard_bounds(site)
    if site.grid.cell is None:
        return _grid(site, bounds, _choose_cell(site, bounds))
    _check_cell(site, bounds, site.grid.cell)
    return _grid(site, bounds, site.grid.cell)


def yard_bounds(site: Site) -> Box:
    """West, south, east and north limits in metres of what the grid must cover, without its margin."""
    bed = box(*site.bed.outline.bounds)
    near = box(*bed.buffer(_FAR * _diagonal(bed), cap_style="square", join_style="mitre").bounds)
    discs = [_disc(tree) for tree in site.tree]
    shots = MultiPoint(site.survey.shots[:, :2])
    others = [area.outline for area in site.keep_clear] + [house.outline for house in site.building]
    yard: list[BaseGeometry] = [box(*_union_bounds([bed, shots, *discs, *others])).intersection(near)]
    touching = [disc for disc in discs if disc.intersects(site.bed.outline)]
    return _union_bounds([*yard, *touching])


def _union_bounds(shapes: list[BaseGeometry]) -> Box:
    west, south, east, north = unary_union([box(*shape.bounds) for shape in shapes]).bounds
    return west, south, east, north


def _disc(tree: Tree) -> Polygon:
    """The ground a tree keeps free of fill: its keep-off, or its flare where no keep-off is given."""
    radius = tree.keep_off if tree.keep_off is not None else max(tree.flare, tree.trunk / 2.0)
    return Point(tree.at).buffer(max(radius, 1e-3))


def _diagonal(bed: BaseGeometry) -> float:
    west, south, east, north = bed.bounds
    return math.hypot(east - west, north - south)


def _width(bed: Polygon) -> float:
    """Shorter side of the tightest box about the bed, however it is turned."""
    corners = np.asarray(bed.minimum_rotated_rectangle.exterior.coords)
    sides = np.hypot(*np.diff(corners[:3], axis=0).T)
    return float(sides.min())


def _choose_cell(site: Site, bounds: Box) -> float:
    """Cell in metres: the friendly size nearest the aim, then larger ones until the grid is small enough."""
    unit = unit_length(site.units)
    bed = site.bed.outline
    aim = min(_diagonal(bed) / _ACROSS_BED, _width(bed) / _FEWEST_ACROSS / 1.2) / unit
    decade = 10.0 ** math.floor(math.log10(aim))
    sizes = [factor * decade * 10.0**power for power in (0, 1, 2, 3) for factor in _FRIENDLY]
    nearest = min(range(len(sizes)), key=lambda at: abs(math.log(sizes[at] / aim)))
    for size in sizes[nearest:]:
        # Counted on the grid itself: the nodes start at the bed's corner, which adds one here and there.
        grid = _grid(site, bounds, size * unit)
        if grid.nx * grid.ny <= _MOST_CHOSEN:
            break
    return size * unit


def _count(bounds: Box, cell: float) -> float:
    """Number of nodes over the bounds with their margin."""
    west, south, east, north = bounds
    return ((east - west) / cell + 2 * _MARGIN + 1) * ((north - south) / cell + 2 * _MARGIN + 1)


def grid_words(site: Site) -> str:
    """What the site's own cell will take, as words after a step's name; "" where that is little, or none is given."""
    if site.grid.cell is None:
        return ""
    nodes = _count(yard_bounds(site), site.grid.cell)
    return f", {nodes:,.0f} nodes: {_takes(nodes)} in all before drawing" if nodes > _WORTH_A_WORD else ""


def _takes(nodes: float) -> str:
    """Time and memory that so many nodes take, in words."""
    seconds = _SECONDS_A_NODE * nodes
    gigabytes = (_BYTES_AT_ALL + _BYTES_A_NODE * nodes) / 1e9
    spans = (("days", 86_400.0), ("hours", 3600.0), ("minutes", 60.0), ("seconds", 1.0))
    name, size = next((span for span in spans if seconds >= 2.0 * span[1]), spans[-1])
    return f"about {two_figures(seconds / size)} {name} and {two_figures(gigabytes)} GB of memory"


def _finest(bounds: Box, unit: float) -> float:
    """Finest cell that is accepted, in the site's units, rounded up to two figures."""
    west, south, east, north = bounds
    cell = math.sqrt(max((east - west) * (north - south), 1e-12) / _MOST_GIVEN)
    while _count(bounds, float(two_figures(cell / unit, up=True).replace(",", "")) * unit) > _MOST_GIVEN:
        cell *= 1.01
    return float(two_figures(cell / unit, up=True).replace(",", ""))


def _check_cell(site: Site, bounds: Box, cell: float) -> None:
    """Raise where the site's own cell is too fine for the yard or too coarse for the bed."""
    chosen, unit = _choose_cell(site, bounds), unit_length(site.units)
    accepted = f"Accepted: leave it out, or about {chosen / unit:g} {site.units}."
    if cell == 0.0:
        raise InputError("[grid] cell", f"{cell} is no size for a cell.", accepted)
    shown = f"{cell / unit:.3g} {site.units}"
    nodes = _count(bounds, cell)
    if nodes > _MOST_GIVEN:
        finest = f"{_finest(bounds, unit):g} {site.units}, which takes {_takes(_MOST_GIVEN)}"
        raise InputError(
            "[grid] cell",
            f"{shown} makes {nodes:,.0f} nodes over this yard, more than {_MOST_GIVEN:,}, and takes {_takes(nodes)}.",
            f"{accepted[:-1]}; the finest is {finest}.",
        )
    across = _width(site.bed.outline) / cell
    if across < _FEWEST_ACROSS and cell > chosen:
        raise InputError(
            "[grid] cell",
            f"{shown} leaves {across:.0f} nodes across the bed, fewer than {_FEWEST_ACROSS}.",
            accepted,
        )


def _grid(site: Site, bounds: Box, cell: float) -> Grid:
    """Nodes counted out from the bed's south-west corner until they cover the bounds and the margin."""
    west, south, east, north = bounds
    corner = site.bed.outline.bounds[:2]
    left, below = (math.ceil((at - low) / cell - 1e-9) + _MARGIN for at, low in zip(corner, (west, south), strict=True))
    right, above = (
        math.ceil((high - at) / cell - 1e-9) + _MARGIN for at, high in zip(corner, (east, north), strict=True)
    )
    return Grid(corner[0] - left * cell, corner[1] - below * cell, cell, left + right + 1, below + above + 1)
