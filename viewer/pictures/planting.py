"""Plants on a mound as in their first season and in their fifth: plain shapes, for nobody has designed them here."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
import shapely

from terrain.grid import Array
from viewer.page import Subject, tree_circles
from viewer.pictures.tree_forms import tufts
from viewer.still import StillBody, scattered

Season = Literal["first", "fifth"]
# Common practice, no published source: perennials a pace apart, a hand across when they are set, and grown together
# after five seasons, by when bark mulch has gone from 10YR 6/4 to 7.5YR 3/2 (sRGB of the chip).
APART, MOST = 0.75, 500  # metres between plants, and how many are drawn
FROM_EDGE, FROM_TRUNK = 0.3, 0.4  # metres free along the edge, and about a flare
AGED_MULCH = np.array([87.0, 68.0, 55.0])
_SOLID = 0.97
_JITTER = 0.45  # of the distance: how far a plant stands off its row


@dataclass(frozen=True)
class _Grown:
    """Radius and height of a plant, metres, from the smallest to the largest, and its tufts of leaves."""

    radius: tuple[float, float]
    height: tuple[float, float]
    leaves: int


SEASONS: dict[Season, _Grown] = {
    "first": _Grown((0.09, 0.16), (0.14, 0.28), 60),
    "fifth": _Grown((0.30, 0.44), (0.35, 0.80), 260),
}


def planting_words(season: Season) -> str:
    """What a picture says of its plants."""
    mulch = "fresh" if season == "first" else "aged"
    return f"Plants: plain shapes as in their {season} season, mulch {mulch}; not designed here."


def plants(subject: Subject, season: Season) -> StillBody | None:
    """The plants of a bed, survey coordinates; None where none has room."""
    spots = plant_places(subject)
    if not len(spots):
        return None
    foot = subject.ground.grid.sample(subject.proposal.elevation, spots)
    grown, count = SEASONS[season], len(spots)
    own = scattered(count, 2, 61)
    radius = np.interp(own[:, 0], (0.0, 1.0), grown.radius)
    height = np.interp(own[:, 1], (0.0, 1.0), grown.height)
    chance = scattered(count * grown.leaves, 5, 67).reshape(count, grown.leaves, 5)
    up, turn = chance[..., 0], 2.0 * np.pi * chance[..., 1]
    # A dome: widest a third of the way up, leaves near its skin.
    wide = np.sqrt(np.clip(1.0 - ((up - 0.3) / 0.72) ** 2, 0.0, 1.0)) * (1.0 - 0.5 * chance[..., 2] ** 2)
    reach = radius[:, None] * wide
    middle = np.stack(
        [
            spots[:, 0, None] + reach * np.cos(turn),
            spots[:, 1, None] + reach * np.sin(turn),
            foot[:, None] + height[:, None] * up,
        ],
        axis=-1,
    ).reshape(-1, 3)
    out = np.stack([np.cos(turn), np.sin(turn), 0.4 + up], axis=-1).reshape(-1, 3)
    out += 0.9 * (chance[..., 2:5].reshape(-1, 3) - 0.5)
    out /= np.linalg.norm(out, axis=1, keepdims=True)
    size = np.repeat(0.2 * radius, grown.leaves) * (0.7 + 0.6 * chance[..., 3].ravel())
    bright = (0.4 + 0.45 * up.ravel()) * np.repeat(0.75 + 0.5 * own[:, 1], grown.leaves)
    # A little short of solid: between leaves shows what stands behind, not the sky.
    return replace(tufts(middle, out, size, bright), opacity=_SOLID)


def plant_places(subject: Subject) -> Array:
    """(n, 2) where plants stand: in rows that are not straight, on soil, clear of trunks, stones and water."""
    proposal, bed = subject.proposal, subject.site.bed.outline
    taken = [one.circle(one.flare + FROM_TRUNK) for one in tree_circles(subject.site)]
    taken += [dig.rim.buffer(FROM_EDGE) for dig in proposal.digs]
    taken += [stream.dig.rim.buffer(FROM_EDGE) for stream in proposal.streams]
    room = shapely.difference(bed.buffer(-FROM_EDGE), shapely.union_all(taken))
    apart = max(APART, math.sqrt(bed.area / MOST / math.sin(math.radians(60.0))))
    west, south, east, north = bed.bounds
    rows = np.arange(south, north + apart, apart * math.sin(math.radians(60.0)))
    columns = np.arange(west, east + apart, apart)
    x, y = np.meshgrid(columns, rows)
    x = x + 0.5 * apart * (np.arange(len(rows)) % 2)[:, None]
    spots = np.column_stack([x.ravel(), y.ravel()])
    spots = spots + _JITTER * apart * (scattered(len(spots), 2, 59) - 0.5)
    return np.asarray(spots[shapely.contains_xy(room, *spots.T)])
