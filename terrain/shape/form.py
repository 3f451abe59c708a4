"""The form: the designer's crest carried down to the edge of the bed by the least-bent surface.

The form is linear in the heights: one map a crest point, worked out once for a bed and scaled after that. Thin-plate
bending: Duchon (1977), "Splines minimizing rotation-invariant semi-norms in Sobolev spaces".
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from terrain.grid import Array
from terrain.numerics import bending_kernel, bicubic, one_thread

# Between two high points the ridge sags by up to this share of its height where they stand far apart: a level ridge
# reads as a loaf. Common practice, no published source.
SADDLE = 0.18
RIDGE_STEPS = (0.25, 0.5, 0.75)  # where the ridge between two high points is held
# Points that hold the form to the ground along its edge. Half as many let the volume of a bed with a tree in it move by
# 0.2 % as the yard was turned, these by 0.1 %.
EDGE_POINTS = 360
# In units of the spline scaled to the bed; moves a crest by well under a millimetre.
SOFTNESS = 1e-6
COARSE_NODES = 64  # nodes across the longer side on which the spline is worked out before it is refined


@dataclass(frozen=True)
class Ridge:
    """Places where the form is held, and how the crest heights set the height at each.

    `points` is (p, 2) metres; heights at the points = `weights` (p, k) times the k crest heights.
    """

    points: Array
    weights: Array


def ridge_line(crest: Array, breadth: float, saddle: float | None = None) -> Ridge:
    """Hold points along the crest line: the high points and three places on each stretch between them.

    Heights between high points follow a cubic through them (tangents from the neighbours, so the ridge has no kink),
    less the saddle, which grows with the distance between the two against the breadth of the bed.

    Parameters
    ----------
    crest
        (k, 2) high points in metres, in order along the crest.
    breadth
        Radius of the largest circle that fits the bed, metres.
    saddle
        Share of its height that the ridge gives up half-way between two high points, 0 to 1, whatever their distance;
        None takes SADDLE, less where they stand near.
    """
    k = len(crest)
    unit = np.eye(k)
    points, weights = [*crest], [*unit]
    for i in range(k - 1):
        length = float(np.hypot(*(crest[i + 1] - crest[i])))
        sag = SADDLE * length / (length + 2.0 * breadth) if saddle is None else saddle
        before = unit[i + 1] - unit[i - 1] if i > 0 else 2.0 * (unit[i + 1] - unit[i])
        after = unit[i + 2] - unit[i] if i + 2 < k else 2.0 * (unit[i + 1] - unit[i])
        for t in RIDGE_STEPS:
            points.append(crest[i] + t * (crest[i + 1] - crest[i]))
            weights.append(_cubic(t, unit[i], unit[i + 1], before / 2.0, after / 2.0) * (1.0 - sag * _bell(t)))
    return Ridge(np.array(points), np.array(weights))


def _cubic(t: float, start: Array, end: Array, slope_start: Array, slope_end: Array) -> Array:
    """Hermite cubic on 0..1."""
    return (
        (2 * t**3 - 3 * t**2 + 1) * start
        + (t**3 - 2 * t**2 + t) * slope_start
        + (-2 * t**3 + 3 * t**2) * end
        + (t**3 - t**2) * slope_end
    )


def _bell(t: float) -> float:
    """1 in the middle, 0 with no slope at both ends."""
    return 16.0 * t**2 * (1.0 - t) ** 2


@dataclass(frozen=True)
class EdgeSpline:
    """The part of the form's spline that does not depend on the crest: its edge points and their pull on the nodes.

    Parameters
    ----------
    middle, size
        Place and length in metres by which coordinates are scaled to about 1.
    columns, rows
        Coordinates of the nodes, metres.
    edge
        (n, 2) scaled points where the form meets the ground.
    places
        (m, 2) scaled nodes of the coarse grid on which the spline is worked out.
    between_edge, on_places
        Bending kernel (n, n) between the edge points and (m, n) of them on the coarse nodes.
    """

    middle: Array
    size: float
    columns: Array
    rows: Array
    edge: Array
    places: Array
    between_edge: Array
    on_places: Array


def edge_spline(columns: Array, rows: Array, edge: Array) -> EdgeSpline:
    """Prepare the form's spline for (n, 2) edge points and node coordinates (nx,), (ny,), all in metres."""
    middle, size = edge.mean(axis=0), float(np.ptp(edge, axis=0).max())
    scaled = (edge - middle) / size
    x, y = np.meshgrid((_coarse(columns) - middle[0]) / size, (_coarse(rows) - middle[1]) / size)
    places = np.column_stack([x.ravel(), y.ravel()])
    return EdgeSpline(
        middle, size, columns, rows, scaled, places, bending_kernel(scaled, scaled), bending_kernel(places, scaled)
    )


def crest_maps(spline: EdgeSpline, ridge: Ridge) -> Array:
    """Form of unit height at each crest point in turn, zero at the edge points, on the nodes.

    Returns
    -------
    array
        (k, ny, nx); the form is the sum of height times map over the crest points.
    """
    points = (ridge.points - spline.middle) / spline.size
    n, p = len(spline.edge), len(points)
    values = np.vstack([np.zeros((n, ridge.weights.shape[1])), ridge.weights, np.zeros((3, ridge.weights.shape[1]))])
    plane = np.column_stack([np.ones(n + p), np.vstack([spline.edge, points])])
    across = bending_kernel(points, spline.edge)
    system = np.zeros((n + p + 3, n + p + 3))
    system[:n, :n], system[n : n + p, n : n + p] = spline.between_edge, bending_kernel(points, points)
    system[n : n + p, :n], system[:n, n : n + p] = across, across.T
    system[: n + p, n + p :], system[n + p :, : n + p] = plane, plane.T
    # Two high points may coincide; the little stiffness taken off lets the spline settle between their heights.
    system[: n + p, : n + p] -= SOFTNESS * np.eye(n + p)
    with one_thread():
        weights = np.linalg.solve(system, values)
        coarse = spline.on_places @ weights[:n] + bending_kernel(spline.places, points) @ weights[n : n + p]
        coarse += weights[n + p] + spline.places @ weights[n + p + 1 :]
    x, y = _coarse(spline.columns), _coarse(spline.rows)
    return np.stack(
        [
            bicubic(y, x, coarse[:, k].reshape(len(y), len(x))).on_grid(spline.rows, spline.columns)
            for k in range(coarse.shape[1])
        ]
    )


def _coarse(axis: Array) -> Array:
    """The same span with at most COARSE_NODES nodes."""
    return axis if len(axis) <= COARSE_NODES else np.linspace(axis[0], axis[-1], COARSE_NODES)
