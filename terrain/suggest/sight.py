"""What a form hides: the share of a named part of the yard that an eye in a named place no longer sees."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TypeVar

import numpy as np
import shapely

from terrain.errors import InputError
from terrain.grid import Array, Grid
from terrain.ground import Ground
from terrain.site import Site, ViewFrom

Known = TypeVar("Known")
BETWEEN = " from "
PLACES, STEPS = 121, 160  # places along what is looked at, and along each line of sight
CLEAR = 0.01  # metres by which the ground must stand into a line of sight to hide its end


@dataclass(frozen=True)
class Sight:
    """Somebody's eye and what they look at: (n, 2) places in metres, `high` metres over the ground there."""

    words: str
    view: ViewFrom
    places: Array
    high: float


def sight_of(site: Site, words: str, option: str) -> Sight:
    """Read "street from window": a thing, a building or kept-clear ground, and one of the `[[view_from]]`.

    Raises
    ------
    InputError
        Where either name is unknown.
    """
    what, _, where = (part.strip() for part in words.partition(BETWEEN))
    shape, high = _named(_looked_at(site), what, "part of the yard", option)
    view = _named({view.name: view for view in site.view_from}, where, "[[view_from]]", option)
    line = shape.boundary if shape.geom_type.endswith("Polygon") else shape
    shares = np.linspace(0.0, 1.0, PLACES)
    points = shape if shape.geom_type == "Point" else shapely.line_interpolate_point(line, shares, normalized=True)
    return Sight(words, view, shapely.get_coordinates(points), high)


def _looked_at(site: Site) -> dict[str, tuple[shapely.Geometry, float]]:
    """What may be looked at, by its name: its shape, and how high over the ground it is looked at, metres."""
    named = {one.name: (one.shape, one.height or 0.0) for one in site.thing}
    named |= {area.name: (area.outline, 0.0) for area in site.keep_clear}
    return named | {house.name: (house.outline, 0.0) for house in site.building}


def _named(known: Mapping[str, Known], name: str, kind: str, option: str) -> Known:
    if name in known:
        return known[name]
    names = ", ".join(f'"{one}"' for one in known) or "none in this site file"
    raise InputError(option, f'no {kind} is called "{name}".', f'Write "NAME from VIEW"; named here: {names}.')


@dataclass(frozen=True)
class SightLines:
    """Lines of sight over the ground as it is, for many forms to be held against.

    Parameters
    ----------
    places
        (n, m, 2) metres: m places along the line to each of the n places that are looked at.
    room
        (n, m) height over existing grade from which soil there hides the line's end, metres; negative where the ground
        itself hides it.
    """

    places: Array
    room: Array

    def hidden(self, grid: Grid, fill: Array) -> float:
        """Share of what is looked at that (ny, nx) fill hides, 0 to 1; there is none outside the grid."""
        high = grid.sample(fill, self.places.reshape(-1, 2)).reshape(self.room.shape)
        return float((high > self.room).any(axis=1).mean())

    def best_places(self, grid: Grid, high: Array) -> Array:
        """(k, 2) places where a fill of (ny, nx) hides the lines that it can hide, metres; of all where it hides none.

        A line's place is the one where the fill stands highest over it.
        """
        over = grid.sample(high, self.places.reshape(-1, 2)).reshape(self.room.shape) - self.room
        best = np.argmax(over, axis=1)
        lines = np.arange(len(best))
        cut = over[lines, best] > 0.0
        places: Array = self.places[lines, best][cut if cut.any() else slice(None)]
        return places


def sight_lines(sight: Sight, ground: Ground) -> SightLines:
    """The lines of a sight over bare ground: no trees, fences or houses.

    Outside the grid the ground is taken to run on level from its edge.
    """
    grid = ground.grid
    stand = np.array(sight.view.at)
    eye = float(grid.sample(ground.elevation, stand[None])[0]) + sight.view.eye
    target = grid.sample(ground.elevation, sight.places) + sight.high
    along = np.linspace(0.0, 1.0, STEPS)[1:-1]
    places = stand + along[None, :, None] * (sight.places - stand)[:, None, :]
    level = grid.sample(ground.elevation, places.reshape(-1, 2)).reshape(len(target), -1)
    line = eye + along * (target - eye)[:, None]
    return SightLines(places, line + CLEAR - level)


def hidden_share(sight: Sight, ground: Ground, elevation: Array) -> float:
    """Share of the places, 0 to 1, whose line of sight the grade (ny, nx) cuts."""
    return sight_lines(sight, ground).hidden(ground.grid, elevation - ground.elevation)
