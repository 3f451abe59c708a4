"""Signs of one profile: the same all round a middle, or the same all along the edge."""

from __future__ import annotations

import numpy as np
import shapely
from scipy import ndimage
from shapely.geometry import Polygon

from terrain.grid import Array
from terrain.look.eye import Eye
from terrain.look.model import Measure
from terrain.look.mound import Mound

KNOTS = 10  # corners of the one profile that is fitted
RAYS = 48  # directions in which the edge is looked for from the middle
INNER = 0.25  # share of the slopes that fall away from the bed line on a bank beside it
BANK_WEIGHT = 0.15  # brings what a bank shows on the scale of what an edge shows: 0.75 and 0.83 to the two bounds
SPARE, AROUND = 2, 4  # every second node is enough for slopes at the eye's scale, and this many round the body
STEADY = 1.5  # steps over which the way to the bed line is evened out
TOP = 0.93  # the top as a whole stands above this share of the height


def cone(mound: Mound) -> Measure:
    """Share of the relief that one profile explains, from a middle straight out to the edge, however either lies.

    A cone, a cap or a bell gives 1, round or not, its top in the middle or off it. Three middles are tried: the
    highest place, the middle of the top, the middle of the fill.
    """
    eye = mound.eye
    fill = eye.fill[eye.body]
    middles = (eye.nodes[int(np.argmax(fill))], eye.nodes[fill >= TOP * fill.max()].mean(axis=0), eye.middle)
    explained = [_explained(fill, _way_out(eye, middle)) for middle in middles]
    best = int(np.argmax(explained))
    return Measure(explained[best], eye.place(middles[best]))


def follows_outline(mound: Mound) -> Measure:
    """How far the contours run beside the mound's own edge, or beside the bed line that a bank follows; at most 1.

    The first is the share of the relief that the distance to the edge explains. The second is how far the slopes lie
    along the way to the bed line, and counts where a quarter of them fall away from it: a bank, not a mound that ends
    at the line as any must.
    """
    eye = mound.eye
    edge = _explained(eye.fill[eye.body], eye.depth[eye.body])
    bank = 1.0 - BANK_WEIGHT * (1.0 - _bank(eye, mound.bed))
    return Measure(max(edge, bank), mound.deepest(mound.body))


def _bank(eye: Eye, bed: Polygon) -> float:
    """Squared cosine between the slopes and the way to the bed line, each slope weighted by its square, 0 to 1."""
    fill, body = eye.fill[::SPARE, ::SPARE], eye.body[::SPARE, ::SPARE]
    near = ndimage.binary_dilation(body, iterations=AROUND)
    rows, columns = SPARE * np.argwhere(near).T
    east, north = eye.x0 + eye.step * columns, eye.y0 + eye.step * rows
    shapely.prepare(bed)
    away = np.zeros(fill.shape)
    sign = np.where(shapely.contains_xy(bed, east, north), 1.0, -1.0)
    away[near] = sign * shapely.distance(bed.boundary, shapely.points(east, north)) / eye.step
    away = ndimage.gaussian_filter(away, STEADY / SPARE)
    slope, way = (np.array(np.gradient(surface))[:, body] for surface in (fill, away))
    weight = (slope**2).sum(axis=0)
    cosine = (slope * way).sum(axis=0) / np.maximum(np.sqrt(weight * (way**2).sum(axis=0)), 1e-12)
    if weight.sum() <= 0.0:
        return 0.0
    along = float((cosine**2 * weight).sum() / weight.sum())
    falls_away = float(weight[cosine < 0.0].sum() / weight.sum())
    return along * min(falls_away / INNER, 1.0)


def _explained(fill: Array, away: Array) -> float:
    """Share of the variance of fill that is a function of `away`: a line of straight pieces, best fit."""
    knots = np.unique(np.quantile(away, np.linspace(0.0, 1.0, KNOTS)))
    pieces = np.array([np.interp(away, knots, corner) for corner in np.eye(len(knots))])
    # A few unknowns: their normal equations.
    rest = fill - np.linalg.lstsq(pieces @ pieces.T, pieces @ fill, rcond=None)[0] @ pieces
    spread = float(((fill - fill.mean()) ** 2).sum())
    return max(1.0 - float((rest**2).sum()) / spread, 0.0) if spread > 0.0 else 0.0


def _way_out(eye: Eye, middle: Array) -> Array:
    """How far each node of the body stands on its way from the middle to the edge, about 0 to 1."""
    away = eye.nodes - middle
    far, way = np.hypot(*away.T), np.arctan2(away[:, 1], away[:, 0])
    rays = np.linspace(-np.pi, np.pi, RAYS + 1)[:-1]
    steps = np.arange(0.0, float(far.max()) + 2.0, 0.5)
    places = middle + steps[None, :, None] * np.column_stack([np.cos(rays), np.sin(rays)])[:, None]
    inside = eye.at(places, eye.depth) > 0.3
    last = steps[steps.size - 1 - np.argmax(inside[:, ::-1], axis=1)] * inside.any(axis=1)
    share: Array = far / np.interp(way, rays, last + 0.5, period=2.0 * np.pi)
    return share
