"""What stays the same while the wished heights change, worked out once for a bed on its ground."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely

from terrain.grid import Array, Grid
from terrain.ground import Ground
from terrain.numerics import limit_surface
from terrain.shape.drawn_out import drawn_out
from terrain.shape.form import Ridge, crest_maps, ridge_line
from terrain.shape.layout import Layout, lay_out
from terrain.site import Site

# On the gentle side the face keeps to this share of the slope over the ground that the limit would allow there.
GENTLE_SHARE = 0.5
# Shares of the limit between which the ground's fall towards the gentle side counts: beyond them next to nothing could
# be built on a fall, or every other face would become gentle too.
MOST_RISE, MOST_FALL = 0.5, 0.9
# The limit surface is built this share under the limit. Level lines that curve make facets steeper than the surface
# they are cut from; with this to spare only corners are left to mend, and what they spread finds room beside them. On a
# kidney bed held by the limit everywhere it costs 2 % of the volume. With a quarter of it, more soil asked for gave a
# lower mound in one random yard of nine; with all of it, in none of 117.
LIMIT_SLACK = 0.02
ON_EDGE = 1e-6  # metres; a point this near to ground that takes no fill stands on its edge
COMPASS = {
    "north": (0.0, 1.0),
    "northeast": (0.5**0.5, 0.5**0.5),
    "east": (1.0, 0.0),
    "southeast": (0.5**0.5, -(0.5**0.5)),
    "south": (0.0, -1.0),
    "southwest": (-(0.5**0.5), -(0.5**0.5)),
    "west": (-1.0, 0.0),
    "northwest": (-(0.5**0.5), 0.5**0.5),
}


@dataclass(frozen=True)
class Prepared:
    """What stays the same while heights change.

    Parameters
    ----------
    layout
        The bed on the grid; the window arrays below are (wy, wx).
    existing, lift, limit
        Ground, lift of retained soil on it (`terrain.shape.retained`) and limit surface in the window, metres.
    vertices, vertex_lift
        (v,) ground under every vertex of the layout's facets and the lift there, metres.
    own
        (m,) slope of the ground on every facet of the layout, rise/run.
    crest_lift
        (k,) lift at the crest points, metres: their heights are over existing grade.
    edge
        (n, 3) column, row (cells of the window) and elevation of points along the inset edge.
    tails
        How many places beside the high point hold the crest of one that is drawn out.
    maps
        (k, wy, wx) forms of unit height, one a crest point.
    eased
        (k, k) value of each eased form (column) at each crest point (row).
    pull
        Lean of the limit cones, east and north.
    """

    layout: Layout
    existing: Array
    lift: Array
    limit: Array
    vertices: Array
    vertex_lift: Array
    own: Array
    crest_lift: Array
    edge: Array
    tails: int
    maps: Array
    eased: Array
    pull: tuple[float, float]


def prepare(site: Site, ground: Ground) -> Prepared:
    """Work out everything that does not depend on the wished heights."""
    grid = ground.grid
    layout = lay_out(site, ground)
    rows, columns = layout.window
    existing = ground.elevation[layout.window]
    pull = _pull(site, layout, existing)

    def lift(points: Array) -> Array:
        return lift_at(site, layout, points)

    edge = np.column_stack(
        [
            (layout.inset[:, 0] - grid.x[columns.start]) / grid.cell,
            (layout.inset[:, 1] - grid.y[rows.start]) / grid.cell,
            grid.sample(ground.elevation, layout.inset) + lift(layout.inset),
        ]
    )
    nothing = np.full(existing.shape, np.inf)
    limit = limit_surface(nothing, layout.reach, edge, limit_rise(site, grid.cell), pull=pull)
    crest = np.array([(point.x, point.y) for point in site.berm.crest])
    ridge = _ridge(site, layout, crest)
    maps = crest_maps(layout.spline, ridge)
    maps = np.where(layout.reach, maps, 0.0)
    eased = np.column_stack([_eased_at(layout, one, crest) for one in maps])
    mesh = layout.mesh
    vertices = np.concatenate(
        [
            ground.elevation.ravel()[mesh.nodes],
            grid.sample(ground.elevation, mesh.points[len(mesh.nodes) :]),
            ground.elevation.ravel()[layout.further],
        ]
    )
    here, at_vertices = np.zeros(existing.shape), np.zeros(len(vertices))
    if layout.retained:
        here = lift(window_of(layout).nodes).reshape(existing.shape)
        at_vertices = lift(np.vstack([mesh.points, grid.nodes[layout.further]]))
    return Prepared(
        layout=layout,
        existing=existing,
        lift=np.where(layout.clearance > 0, here, 0.0),
        limit=limit,
        vertices=vertices,
        vertex_lift=at_vertices,
        own=layout.facets.slopes(vertices),
        crest_lift=lift(crest),
        edge=edge,
        tails=len(ridge.points) - 1 if len(crest) == 1 else 0,
        maps=maps,
        eased=eased,
        pull=pull,
    )


def _ridge(site: Site, layout: Layout, crest: Array) -> Ridge:
    """Where the form is held: along the crest, or along that of one high point drawn out."""
    if len(crest) == 1 and site.berm.drawn_out:
        return drawn_out(crest[0], layout.worked)
    return ridge_line(crest, layout.breadth, site.berm.saddle)


def lift_at(site: Site, layout: Layout, points: Array) -> Array:
    """Lift of retained soil at (m, 2) points, metres; zero where nothing is retained and outside the bed."""
    lift = np.zeros(len(points))
    near = np.zeros(len(points), dtype=bool)
    for edge in layout.retained:
        near |= edge.may_lift(points, site.berm.max_slope, layout.toe)
    if near.any():
        lift[near] = _lift_near(site, layout, points[near])
    return lift


def _lift_near(site: Site, layout: Layout, points: Array) -> Array:
    """The same for points that lie near the stones."""
    lift = np.zeros(len(points))
    stones = {f"the stones of {edge.name}" for edge in layout.retained}
    held = shapely.union_all([h.area for h in layout.holds if h.name not in stones])
    others = shapely.union_all([layout.outline.boundary, held])
    inside = np.flatnonzero(shapely.intersects_xy(layout.outline, points[:, 0], points[:, 1]))
    spots = shapely.points(points[inside])
    # On either side of the stones: ground that takes no fill, edge and all, carries no lift.
    if not held.is_empty:
        free = shapely.distance(held, spots) > ON_EDGE
        inside, spots = inside[free], spots[free]
    for edge in layout.retained:
        # What lies before the stones does not hold back the soil behind them.
        away = shapely.distance(others.difference(edge.low_side), spots)
        lift[inside] = np.maximum(lift[inside], edge.lift(points[inside], away, site.berm.max_slope, layout.toe))
    return lift


def limit_rise(site: Site, cell: float) -> float:
    """Rise a cell of the limit surface, metres."""
    return site.berm.max_slope * (1.0 - LIMIT_SLACK) * cell


def _pull(site: Site, layout: Layout, existing: Array) -> tuple[float, float]:
    """Lean of the limit cones that makes the gentle side run out longer.

    A lean of b holds the gentle side to (1 - b) / (1 + b) of the limit s. Where the ground falls to that side by f, the
    limit leaves s - f over the ground, and f + GENTLE_SHARE (s - f) is wanted; that the ground falls there by itself
    shall not flatten the mound.
    """
    if site.berm.gentle_side is None:
        return 0.0, 0.0
    way = np.array(COMPASS[site.berm.gentle_side])
    fall = float(np.clip(-way @ _ground_tilt(layout, existing) / site.berm.max_slope, -MOST_RISE, MOST_FALL))
    wanted = fall + GENTLE_SHARE * (1.0 - fall)
    east, north = way * (1.0 - wanted) / (1.0 + wanted)
    return float(east), float(north)


def _ground_tilt(layout: Layout, existing: Array) -> Array:
    """Slope to the east and to the north of the plane nearest to the ground in the bed, rise/run."""
    inside = layout.clearance > 0
    places = window_of(layout).nodes[inside.ravel()]
    east, north = (places - places.mean(axis=0)).T
    plane = np.column_stack([np.ones(len(places)), east, north])
    tilt: Array = np.linalg.lstsq(plane, existing[inside] - existing[inside].mean(), rcond=None)[0][1:]
    return tilt


def _eased_at(layout: Layout, fill: Array, places: Array) -> Array:
    """Bilinear values of a (wy, wx) window array, once eased, at (m, 2) places in metres."""
    window, eased = window_of(layout), np.zeros(fill.shape)
    corner = np.column_stack([places[:, 1] - window.y0, places[:, 0] - window.x0]) / window.cell
    corner = np.clip(corner, 0.0, np.array(fill.shape) - 2.0).astype(int)
    for row, column in {(j + up, i + along) for j, i in corner.tolist() for up in (0, 1) for along in (0, 1)}:
        eased[row, column] = layout.easing.at(fill, row, column)
    return window.sample(eased, places)


def window_of(layout: Layout) -> Grid:
    """The layout's window as a grid of its own."""
    rows, columns = layout.window
    west, south = float(layout.grid.x[columns.start]), float(layout.grid.y[rows.start])
    return Grid(west, south, layout.grid.cell, layout.clearance.shape[1], layout.clearance.shape[0])
