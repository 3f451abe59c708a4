"""Everything of a bed that does not depend on the heights: worked out once, kept while heights change."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from functools import cached_property, lru_cache
from itertools import chain

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import MultiPolygon, Polygon

from terrain.errors import InputError
from terrain.fingerprint import fingerprint
from terrain.grid import Array, Grid, Mask
from terrain.ground import Ground
from terrain.numerics import (
    Easing,
    Facets,
    Triangulation,
    easing,
    edge_points,
    evenly_along,
    facets_of,
    fill_clearance,
    linework,
    nodes_in,
    polygon_clearance,
    third_areas,
    triangulate,
)
from terrain.shape.digs import Dig, check_digs, digs_of, dug_triangles
from terrain.shape.form import EDGE_POINTS, EdgeSpline, edge_spline
from terrain.shape.retained import Retained, retained_edges, stone_holds
from terrain.shape.worked import Hold, holds_of, worked_ground
from terrain.site import Site

# Toe width where the site file states none, as a share of the radius of the largest circle that fits the bed, and the
# widest that may be asked for: beyond it nothing of the face is left. Common practice, no published source.
TOE_SHARE, TOE_SHARE_MOST = 0.35, 0.8
LEAST_TOE = 3.0  # cells; a crease between two cells is steeper on some facet than on both its sides


class NoGroundError(InputError):
    """Keep-offs and keep-clear areas leave no ground in the bed."""


@dataclass(frozen=True)
class Layout:
    """A bed on a grid, ready for any heights.

    Parameters
    ----------
    window
        Rows and columns of the grid that hold the bed; every (wy, wx) array here covers just these.
    outline, worked
        The bed, and the ground in it that may take fill, metres.
    holds
        What holds fill back: keep-offs and keep-clear areas.
    clearance
        (wy, wx) metres to the nearest ground that takes no fill, positive in `worked`; exact as far as the toe and the
        mesh ask for it, no more than the distance beyond.
    inset, spline
        (n, 2) points along the edge of the ground that the form may cover (`worked` less half the toe), close together
        for the limit surface; and the spline that holds the form to the ground along it.
    reach
        (wy, wx) True in that ground.
    breadth
        Radius of the largest circle that fits `worked`, metres.
    toe
        Width of the eased toe, metres.
    free, facets, further
        What the limiter works on: (v,) whether a vertex may carry fill, the facets, and the flattened grid index of the
        nodes numbered after the mesh points (`facets_of`).
    retained, digs
        What else shapes the surface.
    vertex_area
        (n,) a third of the worked triangles around each mesh vertex, m2: its product with the fill is the volume.
    """

    grid: Grid
    window: tuple[slice, slice]
    outline: Polygon
    worked: Polygon | MultiPolygon
    holds: tuple[Hold, ...]
    clearance: Array
    inset: Array
    spline: EdgeSpline
    reach: Mask
    breadth: float
    toe: float
    easing: Easing
    mesh: Triangulation
    free: NDArray[np.bool_]
    facets: Facets
    further: NDArray[np.int64]
    retained: tuple[Retained, ...]
    digs: tuple[Dig, ...]
    vertex_area: Array

    @cached_property
    def dug(self) -> Mask | None:
        """(t,) whether each triangle of the mesh lies in the ground of a dig; None without digs."""
        return dug_triangles(self.digs, self.mesh.points, self.mesh.triangles)


def lay_out(site: Site, ground: Ground) -> Layout:
    """The layout of a site's bed on its ground.

    Raises
    ------
    InputError
        If keep-offs and keep-clear areas leave no ground in the bed, or a dig reaches into a keep-off.
    """
    retained = retained_edges(site)
    digs = digs_of(site, ground)
    steady = holds_of(site, ground.grid.cell / 2.0)
    check_digs(digs, steady)
    request = _Request(
        ground.grid,
        site.bed.outline,
        tuple(h for h in steady if h.area.intersects(site.bed.outline)),
        tuple((dig.name, dig.floor, dig.rim) for dig in digs),
        retained,
        site.berm.toe,
        discs_beside(steady, digs, retained, ground.grid.cell),
    )
    return replace(_laid_out(request), digs=digs)


def discs_beside(
    holds: tuple[Hold, ...], digs: tuple[Dig, ...], retained: tuple[Retained, ...], cell: float
) -> tuple[Polygon, ...]:
    """Keep-off discs that a dig or the stones of a retained edge come near to, in the bed or out of it.

    The mesh follows a keep-off circle along the ground that may take fill. Beyond it the triangle beside the rim of a
    dig, or beside a step that stones hold, would reach over the circle: there it has to be drawn in full.
    """
    near = [dig.rim for dig in digs] + [edge.stones for edge in retained]
    beside = 3.0 * cell
    return tuple(
        hold.area
        for hold in holds
        if hold.disc is not None and any(hold.area.distance(shape) < beside for shape in near)
    )


@dataclass(frozen=True, eq=False)
class _Request:
    """What a layout depends on; equal where all of it is equal, so that a layout is worked out once."""

    grid: Grid
    outline: Polygon
    holds: tuple[Hold, ...]
    digs: tuple[tuple[str, Polygon, Polygon], ...]
    retained: tuple[Retained, ...]
    toe: float | None
    discs: tuple[Polygon, ...]

    @cached_property
    def key(self) -> str:
        """Of every field, so that none can be left out."""
        return fingerprint(*(getattr(self, part.name) for part in fields(self)))

    def __hash__(self) -> int:
        return hash(self.key)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Request) and self.key == other.key


@lru_cache(maxsize=4)
def _laid_out(request: _Request) -> Layout:
    grid, cell = request.grid, request.grid.cell
    dig_holds = tuple(Hold(name, rim) for name, _, rim in request.digs)
    holds = (*request.holds, *dig_holds, *stone_holds(request.retained))
    worked = worked_ground(request.outline, holds)
    if worked.is_empty:
        raise _no_ground()
    breadth, toe = _breadth_and_toe(worked, request.toe, cell)
    asked = toe / 2.0 + cell  # by `reach`, and by the mesh, which keeps less than a cell off every edge
    clearance = _clearance(grid, request.outline, holds, asked)
    # Slivers between the nodes are no ground either.
    if not (clearance > 0.0).any():
        raise _no_ground()
    further_lines = [*chain.from_iterable(dig[1:] for dig in request.digs), *request.discs]
    lines = linework(edge_points(worked, cell), further_lines, cell, request.discs)
    standoff = np.minimum.reduce(
        [np.abs(clearance), *(np.abs(polygon_clearance(grid, p, asked)) for p in further_lines)]
    )
    mesh = triangulate(grid, clearance, standoff, worked, lines)
    free = np.zeros(len(mesh.points), dtype=bool)
    free[: len(mesh.nodes)] = clearance.ravel()[mesh.nodes] > 0
    stones = [edge.stones for edge in request.retained]
    facets, further = facets_of(grid, mesh, clearance > 0, nodes_in(grid, stones))
    window = _window(clearance > 0)
    near = clearance[window]
    inset = shapely.buffer(worked, -toe / 2.0, quad_segs=32) if toe > 0 else worked
    rings = edge_points(inset, cell / 4.0)
    if not rings:
        raise InputError("[bed] outline", "the bed is too narrow for any mound", "Widen it or give a narrower toe.")
    return Layout(
        grid=grid,
        window=window,
        outline=request.outline,
        worked=worked,
        holds=holds,
        clearance=near,
        inset=np.vstack(rings),
        spline=edge_spline(grid.x[window[1]], grid.y[window[0]], evenly_along(inset, EDGE_POINTS)),
        reach=near > toe / 2.0,
        breadth=breadth,
        toe=toe,
        easing=easing(near.shape, cell, toe / 2.0),
        mesh=mesh,
        free=np.concatenate([free, clearance.ravel()[further] > 0]),
        facets=facets,
        further=further,
        retained=request.retained,
        digs=(),
        vertex_area=third_areas(mesh),
    )


def _no_ground() -> NoGroundError:
    problem = "keep-offs and keep-clear areas leave no ground in the bed."
    return NoGroundError("[bed] outline", problem, "Move the bed.")


def _clearance(grid: Grid, outline: Polygon, holds: tuple[Hold, ...], up_to: float) -> Array:
    """(ny, nx) distance to the nearest ground that takes no fill, metres, exact to `up_to`; negative on it."""
    discs = [hold.disc for hold in holds if hold.disc is not None]
    return fill_clearance(grid, outline, discs, [hold.area for hold in holds if hold.disc is None], up_to)


def _breadth_and_toe(worked: Polygon | MultiPolygon, wished: float | None, cell: float) -> tuple[float, float]:
    """Width of the widest circle in the ground that is worked, and the toe as used; metres.

    From the geometry, not the nodes: the default toe would else change a little as the grid is shifted or turned.
    """
    breadth = float(shapely.maximum_inscribed_circle(worked, tolerance=1e-3 * cell).length)
    toe = TOE_SHARE * breadth if wished is None else wished
    return breadth, min(max(toe, LEAST_TOE * cell), TOE_SHARE_MOST * breadth)


def _window(mask: Mask) -> tuple[slice, slice]:
    """Rows and columns that hold every True, with two nodes to spare."""
    rows, columns = np.flatnonzero(mask.any(axis=1)), np.flatnonzero(mask.any(axis=0))
    return (
        slice(max(0, rows[0] - 2), rows[-1] + 3),
        slice(max(0, columns[0] - 2), columns[-1] + 3),
    )
