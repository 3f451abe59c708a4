"""Breaklines made ready for fitting: cut where they cross, set with points, and laid among the shots."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely
from shapely.geometry import LineString

from terrain.grid import Array, frozen
from terrain.ground.line_doubt import line_doubts
from terrain.ground.shots import LocalShots, Rows
from terrain.numerics import heights_along

_ON_LINE = 1e-3  # metres: a shot this near a breakline stands on it
_SNAP = 1e-7  # frame units: nearer vertices are one
_STEP = 0.25  # mean shot spacings between the points that carry a breakline into the smooth surfaces
_MOST_POINTS = 300  # of all breaklines together; longer lines get longer steps


def with_breaklines(shots: LocalShots, lines: Sequence[Array]) -> LocalShots:
    """The shots with breaklines, each (k, 3) in metres, laid among them.

    The points of the lines stand after the shots in `places`, are passed through, and are joined by `edges`. A shot
    that stands on a line gives way to it.
    """
    if not lines:
        return shots
    local = [np.column_stack([shots.local(line[:, :2]), line[:, 2] - shots.base]) for line in lines]
    plan = [LineString(line[:, :2]) for line in local]
    vertices, edges = _network(plan, _step(shots, plan))
    heights = _heights_on(local, plan, vertices)
    free = np.ones(len(shots.places), dtype=bool)
    for line in plan:
        free &= shapely.distance(shapely.points(shots.places), line) * shots.scale > _ON_LINE
    rows = np.cumsum(free) - 1
    nearest = _nearest(vertices, shots.places)
    rows[~free] = free.sum() + nearest[~free]
    return replace(
        shots,
        places=frozen(np.vstack([shots.places[free], vertices])),
        heights=frozen(np.concatenate([shots.heights[free], heights])),
        error=frozen(np.concatenate([shots.error[free], np.zeros(len(vertices))])),
        groups=frozen(rows[shots.groups]),
        edges=frozen(edges + int(free.sum())),
        lines=line_doubts(lines, shots.accuracy),
    )


def nearness(shots: LocalShots, places: Array) -> Array:
    """Share (m,) of the process's deviation that is left at (m, 2) places in the frame beside breaklines: 0 on a line.

    The smooth process knows a line by its points only, and between two of them it is unsure again; the facets follow
    the line. From one step between the points onwards the share is 1.
    """
    ends = shots.places[shots.edges]
    step = float(np.median(np.hypot(*(ends[:, 1] - ends[:, 0]).T)))
    lines = shapely.union_all(shapely.linestrings(ends))
    shapely.prepare(lines)
    spots = shapely.points(places)
    share = np.ones(len(places))
    near = shapely.dwithin(spots, lines, step)
    share[near] = shapely.distance(spots[near], lines) / step
    return share


def _step(shots: LocalShots, plan: Sequence[LineString]) -> float:
    """Distance in frame units between points on the lines.

    Shots whose mean square distance from their centre is 1 fill a disc of area 2 pi.
    """
    spacing = float(np.sqrt(2.0 * np.pi / len(shots.places)))
    length = float(shapely.length(np.array(plan, dtype=object)).sum())
    return max(_STEP * spacing, length / _MOST_POINTS)


def _network(plan: Sequence[LineString], step: float) -> tuple[Array, Rows]:
    """Vertices (v, 2) and edges (e, 2) of the lines, cut where they meet and at least every `step`."""
    joined = shapely.set_precision(shapely.union_all(list(plan)), _SNAP)
    parts = shapely.segmentize(shapely.get_parts(joined), step)
    corners = [shapely.get_coordinates(part) for part in parts]
    vertices, rows = np.unique(np.vstack(corners), axis=0, return_inverse=True)
    ends = np.cumsum([len(part) for part in corners])[:-1]
    pairs = [np.column_stack([part[:-1], part[1:]]) for part in np.split(rows.ravel(), ends)]
    edges = np.unique(np.sort(np.vstack(pairs), axis=1), axis=0)
    return vertices, edges


def _heights_on(lines: Sequence[Array], plan: Sequence[LineString], vertices: Array) -> Array:
    """Height (v,) of each vertex on the line that it lies on, straight between that line's points."""
    spots = shapely.points(vertices)
    away = np.array([shapely.distance(spots, line) for line in plan])
    owner = np.argmin(away > _SNAP * 10.0, axis=0)
    heights = np.empty(len(vertices))
    for number, line in enumerate(lines):
        mine = owner == number
        heights[mine] = heights_along(line, vertices[mine])
    return heights


def _nearest(vertices: Array, places: Array) -> Rows:
    """Row of the nearest vertex to each place."""
    from scipy.spatial import cKDTree

    return np.asarray(cKDTree(vertices).query(places)[1])
