"""Which way the ground falls, in words: the check that anybody who stood in the yard can make at a glance."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from terrain.ground.model import Ground
from terrain.numerics import plane_through
from terrain.site import Site
from terrain.units import show_side

LEVEL = 0.005  # rise/run under which ground looks level: common practice, no published source
_AHEAD = math.cos(math.radians(60.0))  # how well a thing must lie in the way of the fall to be named as its end


@dataclass(frozen=True)
class Lie:
    """How the ground lies under the bed.

    Parameters
    ----------
    slope
        Of the plane that suits the existing grade there, rise/run.
    toward
        (2,) unit vector down that plane: east and north.
    text, short
        "The ground under the bed falls 3 % to the south, from house toward street." and "falls 3 % to the south".
    """

    slope: float
    toward: tuple[float, float]
    text: str
    short: str


def lie_of(site: Site, ground: Ground) -> Lie:
    """The plane of least squares through the existing grade under the bed, and what it falls from and to."""
    if not site.survey.measured:
        return Lie(0.0, (0.0, 0.0), "Nothing was measured: the ground is taken as flat.", "taken as flat, not measured")
    grid = ground.grid
    inside = grid.inside(site.bed.outline)
    places, heights = grid.nodes[inside], ground.elevation.ravel()[inside]
    middle = places.mean(axis=0)
    _, east, north = plane_through(places - middle, heights)
    slope = float(np.hypot(east, north))
    if slope < LEVEL:
        return Lie(slope, (0.0, 0.0), "The ground under the bed is about level.", "is about level")
    toward = (-float(east) / slope, -float(north) / slope)
    ends = _ends(site, middle, np.array(toward))
    short = f"falls {100.0 * slope:.0f} % to the {show_side(*toward)}"
    return Lie(slope, toward, f"The ground under the bed {short}{ends}.", short)


def _ends(site: Site, middle: np.ndarray, toward: np.ndarray) -> str:
    """ ", from house toward street": what lies most in the way of the fall, uphill and downhill."""
    high, low = (_in_the_way(site, middle, way) for way in (-toward, toward))
    above, below = f"from {high}" if high else "", f"toward {low}" if low else ""
    words = " ".join(filter(None, (above, below)))
    return f", {words}" if words else ""


def _in_the_way(site: Site, middle: np.ndarray, way: np.ndarray) -> str:
    """The nearest named thing that lies in a direction (2,) from a place (2,); "" where none does."""
    found = []
    for name, place in _named(site):
        off = place - middle
        away = float(np.hypot(*off))
        if away > 0.0 and float(off @ way) / away >= _AHEAD:
            found.append((away, name))
    return min(found, default=(0.0, ""))[1]


def _named(site: Site) -> Iterator[tuple[str, np.ndarray]]:
    """What everybody in a yard knows by its name, each with a place (2,) in the middle of it."""
    shapes = [(house.name, house.outline) for house in site.building]
    shapes += [(thing.name, thing.shape) for thing in site.thing if thing.kind in ("street", "fence", "wall")]
    yield from ((name, np.array(shape.centroid.coords[0])) for name, shape in shapes)
    yield from ((view.name, np.array(view.at)) for view in site.view_from)
    yield from ((tree.name, np.array(tree.at)) for tree in site.tree)
