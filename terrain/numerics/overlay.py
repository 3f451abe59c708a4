"""Overlay of areas that may touch themselves: areas traced, joined from facets or rounded are made sound first.

A ring that touches itself, as the outline of many facets does, or that two rounded digits bring to touch itself, is no
area to the library: it raises a topology error. Every clip, cut and union of such areas goes through here.
"""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry


def sound(shape: BaseGeometry) -> BaseGeometry:
    """The same ground with rings that neither touch nor cross themselves; what has collapsed to a line is left out.

    Lines and points come back as they are.
    """
    if shape.is_valid:
        return shape
    mended = shapely.make_valid(shape, method="structure", keep_collapsed=False)
    # Parts that only share an edge come back side by side, which is no area either: they are one.
    return mended if mended.is_valid else shapely.union_all(shapely.get_parts(mended))


def overlap(one: BaseGeometry, other: BaseGeometry) -> BaseGeometry:
    """What two shapes share; a line and an area share the line's part inside."""
    return shapely.intersection(sound(one), sound(other))


def without(one: BaseGeometry, other: BaseGeometry) -> BaseGeometry:
    """What is left of one shape without another."""
    return shapely.difference(sound(one), sound(other))


def merged(shapes: Iterable[BaseGeometry]) -> BaseGeometry:
    """The ground that any of some shapes covers; empty where there are none.

    Beside areas, lines and points cover none: a mixture of them is no area to cut with.
    """
    union = shapely.union_all(np.array([sound(shape) for shape in shapes], dtype=object))
    parts = shapely.get_parts(union)
    areas = parts[shapely.get_dimensions(parts) == 2]
    return union if len(areas) in (0, len(parts)) else shapely.union_all(areas)
