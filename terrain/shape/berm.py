"""Shape the berm: form, limit surface, easing and the facet limiter, in that order."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from terrain.grid import Array, frozen
from terrain.ground import Ground, check_ground
from terrain.numerics import Facets, YardMesh, held_to_slope, limit_surface
from terrain.shape.bank_tops import raised_banks
from terrain.shape.carve import check_streams, with_streams
from terrain.shape.crest import crest_heights
from terrain.shape.digs import dug_out
from terrain.shape.layout import Layout
from terrain.shape.prepared import Prepared, limit_rise, prepare, window_of
from terrain.shape.proposal import BuiltCrest, Proposal
from terrain.shape.soil_on_hand import CLOSE, scale_for
from terrain.shape.spoil import OwnSoil, beside_streams, loose_soil, own_soil
from terrain.shape.terraces import with_terraces
from terrain.shape.wish import built_crest
from terrain.site import Site

STREAM_ROUNDS = 2
SOIL_CLOSE = 0.005  # share of the soil on hand that may be left over before the berm counts as unable to take it


def shape_berm(site: Site, ground: Ground) -> Proposal:
    """Shape the berm that a site asks for on the ground that is there.

    The wished form is lowered to the highest surface that keeps `max_slope` and meets the ground at the outline and at
    every keep-off (`terrain.numerics.envelope`), eased over the toe width, and evened out wherever a facet of grid or
    mesh still exceeds the limit (`terrain.numerics.spread`). Where the site states the soil on hand, one factor on all
    heights makes the mound take that soil.

    Raises
    ------
    InputError
        If the bed has no room for any mound.
    """
    check_ground("shape_berm", site, ground)
    prepared = prepare(site, ground)
    scale = 1.0 if site.berm.soil is None else scale_for_soil(site, ground, prepared, site.berm.soil)
    proposal = build(site, ground, prepared, scale)
    check_streams(site, ground, proposal)
    return proposal


def scale_for_soil(
    site: Site,
    ground: Ground,
    prepared: Prepared,
    loose: float,
    close: float = CLOSE,
    known: dict[float, float] | None = None,
) -> float:
    """Factor on the site's crest heights at which the mound takes `loose` m3 of soil on hand, beside the site's own.

    It is met to `close`, a share of the soil. `known` holds what other factors on the same heights took, and keeps what
    is tried here: whoever asks for several amounts is answered sooner.
    """
    own = own_soil(site, prepared.layout, prepared.vertices[: len(prepared.layout.mesh.points)])
    known = {} if known is None else known

    def needed(one: float) -> float:
        known[one] = _needed(site, ground, prepared, one, own)
        return known[one]

    scale = scale_for(needed, loose, close, known)
    for _ in range(STREAM_ROUNDS if site.stream else 0):
        # What the beds of streams displace, and what their banks take, hangs on the height, but little: each round
        # takes that of the one before.
        mound, banks = _raised(site, ground, prepared, scale)
        less = beside_streams(own, site, mound.mesh, with_streams(site, ground, mound).mesh)
        scale = scale_for(
            lambda one, less=less, banks=banks: _needed(site, ground, prepared, one, less, banks),  # type: ignore[misc]
            loose,
            close,
        )
    return scale


def loose_needed(site: Site, ground: Ground, prepared: Prepared, scale: float) -> float:
    """Loose soil to bring for the site's crest heights times `scale`, m3, beside the site's own; no streams are cut."""
    own = own_soil(site, prepared.layout, prepared.vertices[: len(prepared.layout.mesh.points)])
    return _needed(site, ground, prepared, scale, own)


def raised_fill(site: Site, ground: Ground, prepared: Prepared, scale: float) -> tuple[Array, float]:
    """The (ny, nx) fill of the mound, metres, and the loose soil to bring for it, m3; no streams are cut.

    What a search asks of every form that it tries: `build` answers the same fill with all else that a proposal tells.
    """
    layout = prepared.layout
    own = own_soil(site, layout, prepared.vertices[: len(layout.mesh.points)])
    fill = proposed_vertices(site, ground, prepared, scale) - prepared.vertices
    return _on_grid(layout, fill), loose_soil(site, layout, fill, own)


def limit_on_grid(ground: Ground, prepared: Prepared) -> Array:
    """(ny, nx) highest ground that the limits allow, metres; existing grade where no fill may lie."""
    limit = np.array(ground.elevation)
    held = np.where(prepared.layout.reach, prepared.limit, -np.inf)
    limit[prepared.layout.window] = np.maximum(held, prepared.existing)
    return limit


def _needed(
    site: Site, ground: Ground, prepared: Prepared, scale: float, own: OwnSoil, banks: Array | None = None
) -> float:
    """Loose soil to bring for the site's crest heights times `scale`, m3."""
    fill = proposed_vertices(site, ground, prepared, scale, banks) - prepared.vertices
    return loose_soil(site, prepared.layout, fill, own)


def proposed_vertices(
    site: Site, ground: Ground, prepared: Prepared, scale: float, banks: Array | None = None
) -> Array:
    """(v,) finished elevation at the layout's vertices, metres, for the site's crest heights times `scale`.

    `banks` is what the streams ask of the mound (`raised_banks`).
    """
    layout, grid = prepared.layout, prepared.layout.grid
    heights = scale * crest_heights(site, ground)
    asked = _before_easing(prepared.eased, np.maximum(heights - prepared.crest_lift, 0.0))
    wish = np.maximum(np.tensordot(asked, prepared.maps, axes=1), 0.0)
    if site.terrace:
        wish = with_terraces(wish, prepared.existing + prepared.lift, window_of(layout), site, ground)
    shaped = _under_limit(prepared, wish, limit_rise(site, grid.cell))
    fill = np.zeros(grid.shape)
    fill[layout.window] = np.maximum(layout.easing.apply(shaped), 0.0)
    if banks is not None:
        fill[layout.window] = np.maximum(fill[layout.window], banks - prepared.existing - prepared.lift)
    proposed = prepared.vertices + prepared.vertex_lift
    nodes = layout.mesh.nodes
    proposed[: len(nodes)] += np.where(layout.free[: len(nodes)], fill.ravel()[nodes], 0.0)
    near_edge = layout.free[len(layout.mesh.points) :]
    proposed[len(layout.mesh.points) :] += np.where(near_edge, fill.ravel()[layout.further], 0.0)
    free = layout.free | (prepared.vertex_lift > 0.0)
    return held_to_slope(layout.facets, prepared.own, prepared.vertices, proposed, free, site.berm.max_slope)


def build(site: Site, ground: Ground, prepared: Prepared, scale: float) -> Proposal:
    """The proposal for the site's crest heights over existing grade, all times `scale`, with its streams cut."""
    mound, banks = _raised(site, ground, prepared, scale)
    done = with_streams(site, ground, mound)
    if site.berm.soil is None:
        return done
    own = own_soil(site, prepared.layout, prepared.vertices[: len(prepared.layout.mesh.points)])
    own = beside_streams(own, site, mound.mesh, done.mesh) if site.stream else own
    left = site.berm.soil - _needed(site, ground, prepared, scale, own, banks)
    # Where the limits leave soil over the factor is no wish: nobody asked for eight times the height.
    wished = min(scale, 1.0) if left > SOIL_CLOSE * site.berm.soil else scale
    return replace(done, soil_left=left, crest=_crest(site, prepared, ground, mound.fill, wished))


def _raised(site: Site, ground: Ground, prepared: Prepared, scale: float) -> tuple[Proposal, Array | None]:
    """The mound without its streams, its ground raised for their banks, and what those ask of it."""
    mound = _mound(site, ground, prepared, scale)
    banks = raised_banks(site, ground, prepared, mound.fill, mound.limit) if site.stream else None
    if banks is None:
        return mound, None
    higher = _mound(site, ground, prepared, scale, banks)
    return replace(higher, raised=frozen(np.maximum(higher.fill - mound.fill, 0.0))), banks


def _mound(site: Site, ground: Ground, prepared: Prepared, scale: float, banks: Array | None = None) -> Proposal:
    """The mound without its streams; `banks` is what those ask of it."""
    layout, grid = prepared.layout, ground.grid
    proposed = proposed_vertices(site, ground, prepared, scale, banks)
    fill = _on_grid(layout, proposed - prepared.vertices)
    cut = ground.elevation - dug_out(layout.digs, grid.nodes, ground.elevation.ravel()).reshape(grid.shape)
    existing = prepared.vertices[: len(layout.mesh.points)]
    bed = np.zeros(grid.shape, dtype=bool)
    bed[layout.window] = layout.clearance > 0
    steepest, existing_steepest = _steepest(layout.facets, prepared.own, proposed, site.berm.max_slope)
    return Proposal(
        grid=grid,
        elevation=frozen(ground.elevation + fill - cut),
        fill=frozen(fill),
        cut=frozen(cut),
        limit=frozen(limit_on_grid(ground, prepared)),
        worked=layout.worked,
        bed=frozen(bed),
        mesh=_mesh(layout, existing, proposed[: len(existing)]),
        crest=_crest(site, prepared, ground, fill, scale),
        toe=layout.toe,
        steepest=steepest,
        existing_steepest=existing_steepest,
        digs=layout.digs,
        height_scale=scale,
        drawn_out=prepared.tails > 0,
        made_for=site.yard_print,
    )


def _on_grid(layout: Layout, raised: Array) -> Array:
    """(ny, nx) fill at the grid's nodes from (v,) fill at the layout's vertices, metres."""
    nodes = layout.mesh.nodes
    fill = np.zeros(layout.grid.nx * layout.grid.ny)
    fill[nodes] = raised[: len(nodes)]
    fill[layout.further] = raised[len(layout.mesh.points) :]
    return fill.reshape(layout.grid.shape)


def _mesh(layout: Layout, existing: Array, filled: Array) -> YardMesh:
    """The yard's mesh from (n,) ground and ground with fill at its vertices, metres; the digs are cut here."""
    mesh = layout.mesh
    # Digs and fill never share a vertex above or below existing grade: a dig's rim holds the fill off.
    finished = filled - (existing - dug_out(layout.digs, mesh.points, existing))
    return YardMesh(
        frozen(mesh.points),
        frozen(mesh.triangles),
        frozen(mesh.inside),
        frozen(existing.copy()),
        frozen(finished),
        layout.dug,
    )


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
    reach, base = prepared.layout.reach, prepared.existing + prepared.lift
    level = np.where(reach, np.minimum(base + wish, prepared.limit), np.inf)
    level = limit_surface(level, reach, prepared.edge, rise, pull=prepared.pull)
    return np.where(reach, np.maximum(level - base, 0.0), 0.0)


def _steepest(facets: Facets, own: Array, proposed: Array, limit: float) -> tuple[float, float]:
    """Steepest facet of the finished bed not owed to the ground, and steepest facet of the ground, rise/run."""
    charged = facets.slopes(proposed)[own <= limit]
    return (float(charged.max()) if charged.size else 0.0), float(own.max())


def _crest(site: Site, prepared: Prepared, ground: Ground, fill: Array, scale: float) -> tuple[BuiltCrest, ...]:
    """Wish against result at every crest point."""
    places = [(point.x, point.y) for point in site.berm.crest]
    return tuple(
        built_crest(
            (point.x, point.y),
            float(scale * height),
            float(ground.grid.sample(fill, np.array([[point.x, point.y]]))[0]),
            ground,
            prepared.layout,
            site.berm.max_slope,
            site.berm.gentle_side,
            places[max(k - 1, 0) : k] + places[k + 1 : k + 2],
        )
        for k, (point, height) in enumerate(zip(site.berm.crest, crest_heights(site, ground), strict=True))
    )
