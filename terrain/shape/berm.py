"""Shape the berm: form, limit surface, easing and the facet limiter, in that order."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from terrain.grid import Array, frozen
from terrain.ground.model import Ground
from terrain.shape.envelope import limit_surface
from terrain.shape.facets import keep_slope
from terrain.shape.form import EDGE_POINTS, crest_maps, ridge_line
from terrain.shape.layout import Layout, lay_out
from terrain.shape.mesh import YardMesh
from terrain.shape.proposal import BuiltCrest, Proposal
from terrain.shape.wish import built_crest
from terrain.site.model import Site

# The gentle side is held to half of the slope limit: a pull of b gives (1 - b) / (1 + b).
GENTLE_PULL = 1.0 / 3.0
# The limit surface is built this share under the limit. Level lines that curve make facets steeper than the surface they
# are cut from; with this to spare the facet limiter has only corners left to mend. Without it, its corrections spread
# over the whole mound: measured on a kidney bed at the limit everywhere, 2 % of slack costs 2 % of the volume and none
# costs a third.
LIMIT_SLACK = 0.02
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
    """What stays the same while heights change: layout, ground in the window, limit surface and crest maps.

    `existing`, `limit` are (wy, wx) metres; `vertices` (v,) the ground under every vertex of the facets; `maps` (k, wy, wx) forms of unit height, `eased` their values at the crest
    points after easing, (k, k); `edge` (n, 3) column, row and elevation of the inset edge.
    """

    layout: Layout
    existing: Array
    vertices: Array
    limit: Array
    edge: Array
    maps: Array
    eased: Array
    pull: tuple[float, float]


def shape_berm(site: Site, ground: Ground) -> Proposal:
    """Shape the berm that a site asks for on the ground that is there.

    The wished form is lowered to the highest surface that keeps `max_slope` and meets the ground at the outline and at
    every keep-off (`terrain.shape.envelope`), eased over the toe width, and lowered further wherever a facet of grid or
    mesh still exceeds the limit.

    Raises
    ------
    InputError
        If the bed has no room for any mound.
    """
    prepared = prepare(site, ground)
    heights = np.array([point.height for point in site.berm.crest])
    return build(site, ground, prepared, heights)


def prepare(site: Site, ground: Ground) -> Prepared:
    """Work out everything that does not depend on the wished heights."""
    grid = ground.grid
    layout = lay_out(site, grid)
    rows, columns = layout.window
    existing = ground.elevation[layout.window]
    pull = _pull(site)
    edge = np.column_stack(
        [
            (layout.inset[:, 0] - grid.x[columns.start]) / grid.cell,
            (layout.inset[:, 1] - grid.y[rows.start]) / grid.cell,
            grid.sample(ground.elevation, layout.inset),
        ]
    )
    nothing = np.full(existing.shape, np.inf)
    limit = limit_surface(nothing, layout.reach, edge, _rise(site, grid.cell), pull=pull)
    crest = np.array([(point.x, point.y) for point in site.berm.crest])
    ridge = ridge_line(crest, layout.breadth)
    held = layout.inset[:: max(1, len(layout.inset) // EDGE_POINTS)]
    maps = crest_maps(grid.x[columns], grid.y[rows], held, ridge)
    maps = np.where(layout.reach, maps, 0.0)
    eased = np.column_stack([_at(layout, layout.easing.apply(one), crest) for one in maps])
    mesh = layout.mesh
    vertices = np.concatenate(
        [
            ground.elevation.ravel()[mesh.nodes],
            grid.sample(ground.elevation, mesh.points[len(mesh.nodes) :]),
            ground.elevation.ravel()[layout.further],
        ]
    )
    return Prepared(layout, existing, vertices, limit, edge, maps, eased, pull)


def build(site: Site, ground: Ground, prepared: Prepared, heights: Array, scale: float = 1.0) -> Proposal:
    """The proposal for (k,) wished heights in metres over existing grade, times `scale`."""
    layout, grid = prepared.layout, ground.grid
    wish = np.tensordot(_before_easing(prepared.eased, scale * heights), prepared.maps, axes=1)
    shaped = _under_limit(prepared, np.maximum(wish, 0.0), _rise(site, grid.cell))
    fill = np.zeros(grid.shape)
    fill[layout.window] = np.where(layout.clearance > 0, np.maximum(layout.easing.apply(shaped), 0.0), 0.0)
    proposed = prepared.vertices.copy()
    nodes = layout.mesh.nodes
    proposed[: len(nodes)] += np.where(layout.free[: len(nodes)], fill.ravel()[nodes], 0.0)
    proposed, _ = keep_slope(layout.facets, prepared.vertices, proposed, layout.free, site.berm.max_slope)
    fill = np.zeros(grid.nx * grid.ny)
    fill[nodes] = proposed[: len(nodes)] - prepared.vertices[: len(nodes)]
    fill = fill.reshape(grid.shape)
    limit = np.array(ground.elevation)
    limit[layout.window] = np.maximum(np.where(layout.reach, prepared.limit, -np.inf), prepared.existing)
    bed = np.zeros(grid.shape, dtype=bool)
    bed[layout.window] = layout.clearance > 0
    steepest, existing_steepest = _steepest(layout, prepared.vertices, proposed, site.berm.max_slope)
    return Proposal(
        grid=grid,
        elevation=frozen(ground.elevation + fill),
        fill=frozen(fill),
        limit=frozen(limit),
        worked=layout.worked,
        bed=frozen(bed),
        mesh=YardMesh(
            frozen(layout.mesh.points),
            frozen(layout.mesh.triangles),
            frozen(layout.mesh.inside),
            frozen(prepared.vertices[: len(layout.mesh.points)].copy()),
            frozen(proposed[: len(layout.mesh.points)].copy()),
        ),
        crest=_crest(site, prepared, ground, fill, scale),
        toe=layout.toe,
        steepest=steepest,
        existing_steepest=existing_steepest,
        height_scale=scale,
    )


def _rise(site: Site, cell: float) -> float:
    """Rise a cell of the limit surface, metres."""
    return site.berm.max_slope * (1.0 - LIMIT_SLACK) * cell


def _pull(site: Site) -> tuple[float, float]:
    """Lean of the limit cones that makes the gentle side run out longer."""
    if site.berm.gentle_side is None:
        return 0.0, 0.0
    east, north = COMPASS[site.berm.gentle_side]
    return GENTLE_PULL * east, GENTLE_PULL * north


def _at(layout: Layout, values: Array, places: Array) -> Array:
    """Bilinear values of a (wy, wx) window array at (m, 2) places in metres."""
    from terrain.grid import Grid

    rows, columns = layout.window
    window = Grid(layout.grid.x[columns.start], layout.grid.y[rows.start], layout.grid.cell, *values.shape[::-1])
    return window.sample(values, places)


def _before_easing(eased: Array, heights: Array) -> Array:
    """Heights to ask of the form so that easing brings the crest points down to those wished.

    A few damped steps instead of one solution: a high point by the edge may be out of reach at any height.
    """
    asked = heights.copy()
    for _ in range(4):
        built = np.maximum(eased @ asked, 1e-9)
        asked = np.minimum(asked * np.clip(heights / built, 0.67, 1.5), 1.6 * heights)
    return asked


def _under_limit(prepared: Prepared, wish: Array, rise: float) -> Array:
    """(wy, wx) fill: the wished one lowered to the slope limit, zero where none may lie, metres; `rise` is a cell's."""
    reach = prepared.layout.reach
    level = np.where(reach, np.minimum(prepared.existing + wish, prepared.limit), np.inf)
    level = limit_surface(level, reach, prepared.edge, rise, pull=prepared.pull)
    return np.where(reach, np.maximum(level - prepared.existing, 0.0), 0.0)


def _steepest(layout: Layout, existing: Array, proposed: Array, limit: float) -> tuple[float, float]:
    """Steepest facet of the finished bed not owed to the ground, and steepest facet of the ground, rise/run."""
    own = layout.facets.slopes(existing)
    finished = layout.facets.slopes(proposed)
    charged = finished[own <= limit]
    return (float(charged.max()) if charged.size else 0.0), float(own.max())


def _crest(site: Site, prepared: Prepared, ground: Ground, fill: Array, scale: float) -> tuple[BuiltCrest, ...]:
    """Wish against result at every crest point."""
    return tuple(
        built_crest(
            (point.x, point.y),
            scale * point.height,
            float(ground.grid.sample(fill, np.array([[point.x, point.y]]))[0]),
            ground,
            prepared.layout,
            site.berm.max_slope,
        )
        for point in site.berm.crest
    )
