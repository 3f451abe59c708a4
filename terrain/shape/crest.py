"""The heights of the crest over existing grade, also where a high point is given by its elevation."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from terrain.errors import InputError
from terrain.grid import Array
from terrain.ground import Ground
from terrain.limits import HIGHEST_CREST
from terrain.site import CrestPoint, Site
from terrain.units import show_length


def crest_heights(site: Site, ground: Ground) -> Array:
    """(k,) height of every crest point over existing grade, metres.

    Raises
    ------
    InputError
        Where an elevation lies at or under the ground there, or further above it than any mound stands.
    """
    return np.array(
        [
            point.height if point.elevation is None else _height(number, point, site, ground)
            for number, point in enumerate(site.berm.crest, start=1)
        ]
    )


def with_heights(site: Site, ground: Ground) -> Site:
    """The site with every crest point given by its height, for what shows heights or lets them be changed."""
    if all(point.elevation is None for point in site.berm.crest):
        return site
    crest = tuple(
        replace(point, height=float(height), elevation=None)
        for point, height in zip(site.berm.crest, crest_heights(site, ground), strict=True)
    )
    return replace(site, berm=replace(site.berm, crest=crest))


def _height(number: int, point: CrestPoint, site: Site, ground: Ground) -> float:
    """Height of a point that is given by its elevation, metres."""
    here = float(ground.grid.sample(ground.elevation, np.array([[point.x, point.y]]))[0])
    height = (point.elevation or 0.0) - here
    if 0.0 < height <= HIGHEST_CREST.value:
        return height
    shown = [show_length(level, site.units, "elevation") for level in (point.elevation or 0.0, here)]
    problem = "is not above" if height <= 0.0 else "is far above"
    raise InputError(
        f"[berm] crest point {number}",
        f"the elevation {shown[0]} {problem} the existing grade there, {shown[1]}.",
        f"Accepted: more than {shown[1]}, in the datum and units of the shots; or a height over existing grade, "
        "[x, y, height].",
    )
