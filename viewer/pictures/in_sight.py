"""Lines of the yard as they fall on a picture, where nothing stands before them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

import numpy as np
import shapely
from shapely.geometry import LineString, MultiLineString
from shapely.geometry.base import BaseGeometry

from terrain.grid import Array, Grid
from viewer.still import Camera, Still

STEP = 0.1  # metres between the places of a line that are looked at
_LEAST_HEIGHT = 0.3  # metres of the eye over a place: what lies level with it is seen edge on
_ROOM = 0.02  # metres


def in_sight(line: Array, camera: Camera, still: Still) -> MultiLineString:
    """The parts of a line (n, 3) in metres that are seen, as pixels of the picture.

    A place on the ground is as far away as the pixel that it falls on sees, give or take what the ground runs out by in
    two pixels: d^2 / (f h) each for an eye h over it.
    """
    spots, depth = camera.project(line)
    cells = np.floor(spots).astype(int)
    wide, high = camera.size
    within = (depth > 0.3) & (cells >= 0).all(axis=1) & (cells[:, 0] < wide) & (cells[:, 1] < high)
    cells = np.where(within[:, None], cells, 0)
    above = np.maximum(camera.eye[2] - line[:, 2], _LEAST_HEIGHT)
    slack = _ROOM + 2.0 * depth**2 / (camera.focal * above)
    shown = within & (depth <= still.depth[cells[:, 1], cells[:, 0]] + slack)
    runs = np.split(np.arange(len(line)), np.flatnonzero(np.diff(shown.astype(int))) + 1)
    return MultiLineString([LineString(spots[run]) for run in runs if shown[run[0]] and len(run) > 1])


def on_ground(shapes: BaseGeometry | Iterable[BaseGeometry], grid: Grid, elevation: Array) -> Iterator[Array]:
    """Lines on the plan, or edges of areas, as (n, 3) places on the ground, metres, close to each other."""
    for shape in [shapes] if isinstance(shapes, BaseGeometry) else shapes:
        for part in shapely.get_parts(shapely.segmentize(shape, STEP)):
            for line in [part.exterior, *part.interiors] if part.geom_type == "Polygon" else [part]:
                places = shapely.get_coordinates(line)
                if len(places) > 1:
                    yield np.column_stack([places, grid.sample(elevation, places)])
