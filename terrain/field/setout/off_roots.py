"""Stakes off the roots: none is driven inside a keep-off, which another sheet says to fence.

A stake that would stand there moves along the line that it marks, and what it marks says so.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import replace

import shapely
from shapely.geometry import LineString, Point
from shapely.geometry.base import BaseGeometry
from shapely.ops import nearest_points

from terrain.field.setout.model import Spot
from terrain.site import Site, keep_off_radius
from terrain.units import show_length

MOVED = ", moved "  # in what a stake marks, where it was moved
# A moved stake stands this far outside: wider than what a circle drawn with corners falls short of the true one.
STAND_OFF = 0.01  # metres
_ON = 1e-6  # metres: a stake on the circle itself, such as those that carry the fence, is not inside


def off_keep_offs(site: Site, marked: Iterable[tuple[Spot, LineString | None]]) -> Iterator[Spot]:
    """The spots, those inside a keep-off moved along their line to the nearest place outside every keep-off.

    Parameters
    ----------
    site
        Whose trees have the keep-offs.
    marked
        Each spot with the line that it marks, metres; None for a place that marks nothing else (the floor of a basin).

    A spot without a line, or whose line lies wholly inside keep-offs, is left out: nothing is built there.
    """
    radii = [(tree, keep_off_radius(tree, site.trees.rule)) for tree in site.tree]
    closed = shapely.union_all([Point(tree.at).buffer(radius + STAND_OFF, quad_segs=64) for tree, radius in radii])
    for spot, line in marked:
        inside = [tree.name for tree, radius in radii if math.dist(tree.at, spot.at) < radius - _ON]
        if not inside:
            yield spot
        elif line is not None and (place := _nearest_free(spot, line, closed)) is not None:
            moved = show_length(math.dist(place, spot.at), site.units, "distance")
            yield replace(spot, at=place, what=f"{spot.what}{MOVED}{moved} off the keep-off of {inside[0]}")


def _nearest_free(spot: Spot, line: LineString, closed: BaseGeometry) -> tuple[float, float] | None:
    """The place on a line outside all closed ground that is nearest to a spot, metres; None where there is none."""
    free = line.difference(closed)
    if free.is_empty:
        return None
    place = nearest_points(free, Point(spot.at))[0]
    return float(place.x), float(place.y)
