"""Hidden ground drawn at random, shot in eight layouts: what a stated range is held against.

Each yard is 60 by 40 ft: a plane and a Gaussian field whose smoothness, length and relief are drawn from what gardens
have (common practice, no published source). The field is drawn jointly at the shots, over the bed and around it: the
truth is known everywhere that it is asked for.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from real_ground import Array, Random, spread_out
from scipy.spatial.distance import cdist
from shapely.geometry import MultiPoint

from terrain.ground.choose import FittedGround, elevation_and_deviation, fit_ground, heights_at
from terrain.ground.creases import with_breaklines
from terrain.ground.model_averaging import mean_deviation_over
from terrain.ground.shots import local_shots
from terrain.numerics import correlation

FOOT = 0.3048
WIDE, DEEP = 60.0, 40.0  # feet
HALF_BED = 9.0, 6.0  # feet: an ellipse
SMOOTHNESS = 1.0, 1.5, 2.5
REACH, RELIEF, FALL = (4.0, 25.0), (0.15, 0.6), 0.03  # feet, feet, rise over run
STEP = 2.0  # feet, of the wall
LAYOUTS = ("random", "grid", "clusters", "bed line", "rough rod", "noise of five", "wall", "bust")


@dataclass(frozen=True)
class HiddenYard:
    """One survey and what it was taken of; metres.

    `shots` (n, 3) and `accuracy` as the crew states it; `lines` are breaklines; `bed` (b, 3) and `around` (a, 3) are
    true ground over the bed and over the whole yard; `bust` is the row of the misread shot, -1 for none.
    """

    shots: Array
    accuracy: float
    lines: tuple[Array, ...]
    bed: Array
    around: Array
    bust: int = -1


def hidden_yard(layout: str, seed: int, bust: float = 0.8, count: int = 40) -> HiddenYard:
    """The survey of a layout; `bust` in feet is by how much one shot is off where the layout has one."""
    random = np.random.default_rng([414, LAYOUTS.index(layout), seed])
    middle = random.uniform([16.0, 13.0], [WIDE - 16.0, DEEP - 19.0])
    walls = _wall(middle[1] + 9.0) if layout == "wall" else ()
    places = PLACES.get(layout, _at_random)(count, random, middle)
    bed, around = _bed(middle), np.stack(np.meshgrid(np.arange(1.5, WIDE, 3.0), np.arange(1.0, DEEP, 3.0)), -1)
    parts = [places, bed, around.reshape(-1, 2), *(line[:, :2] for line in walls)]
    every = np.vstack(parts)
    heights = _ground(every, random)
    if walls:
        heights += STEP * np.clip((every[:, 1] - middle[1] - 9.0) / 0.3, 0.0, 1.0)
    true = np.split(np.column_stack([every, heights]), np.cumsum([len(part) for part in parts])[:-1])
    stated = 0.1 if layout == "rough rod" else 0.02
    noise = 0.1 if layout in ("rough rod", "noise of five") else 0.02
    shots = true[0] + np.column_stack([np.zeros((count, 2)), random.normal(0.0, noise, count)])
    lines = tuple(
        FOOT * (line + np.column_stack([np.zeros((len(line), 2)), random.normal(0.0, noise, len(line))]))
        for line in true[3:]
    )
    near = np.argsort(np.hypot(*((places - middle) / HALF_BED).T))[:8]  # where a bust moves the bed's mean most
    row = int(random.choice(near)) if layout == "bust" else -1
    if row >= 0:
        shots[row, 2] += bust * random.choice([-1.0, 1.0])
    return HiddenYard(FOOT * shots, FOOT * stated, lines, FOOT * true[1], FOOT * true[2], row)


def _ground(places: Array, random: Random) -> Array:
    """Heights (m,), feet, of a plane and a Matern field."""
    smoothness = float(random.choice(SMOOTHNESS))
    reach = float(np.exp(random.uniform(*np.log(REACH)))) / np.sqrt(smoothness)
    alike = correlation(cdist(places, places), smoothness, reach) + 1e-8 * np.eye(len(places))
    field = np.linalg.cholesky(alike) @ random.normal(0.0, 1.0, len(places))
    return 100.0 + places @ random.normal(0.0, FALL, 2) + random.uniform(*RELIEF) * field


def _bed(middle: Array) -> Array:
    lattice = np.stack(np.meshgrid(np.linspace(-1.0, 1.0, 17), np.linspace(-1.0, 1.0, 13)), axis=-1).reshape(-1, 2)
    return lattice[np.hypot(*lattice.T) < 1.0] * HALF_BED + middle


def _wall(up: float) -> tuple[Array, ...]:
    """Top and foot of a wall straight across the yard, its plan, feet."""
    along = np.linspace(0.0, WIDE, 6)
    return tuple(np.column_stack([along, np.full(6, up + off)]) for off in (0.3, 0.0))


def _at_random(count: int, random: Random, middle: Array) -> Array:
    return np.asarray(random.uniform(0.0, 1.0, (count, 2)) * [WIDE, DEEP])


def _on_a_grid(count: int, random: Random, middle: Array) -> Array:
    columns = round(np.sqrt(count * WIDE / DEEP))
    rows = int(np.ceil(count / columns))
    nodes = np.stack(np.meshgrid(np.arange(columns) + 0.5, np.arange(rows) + 0.5), axis=-1).reshape(-1, 2)[:count]
    return np.asarray(nodes / [columns, rows] * [WIDE, DEEP] + random.uniform(-0.3, 0.3, (count, 2)))


def _in_clusters(count: int, random: Random, middle: Array) -> Array:
    heaps = random.uniform(0.0, 1.0, (6, 2)) * [WIDE, DEEP]
    spots = heaps[np.arange(count) % 6] + random.normal(0.0, 2.5, (count, 2))
    return np.asarray(np.clip(spots, 0.0, [WIDE, DEEP]))


def _on_the_bed_line(count: int, random: Random, middle: Array) -> Array:
    turn = (np.arange(count) + random.uniform(-0.3, 0.3, count)) / count * 2.0 * np.pi
    return np.column_stack([np.cos(turn), np.sin(turn)]) * HALF_BED + middle


def _beside_a_wall(count: int, random: Random, middle: Array) -> Array:
    places = spread_out(3 * count, random, WIDE, DEEP)
    clear = np.abs(places[:, 1] - middle[1] - 9.15) > 0.6
    return np.asarray(places[clear][random.permutation(int(clear.sum()))[:count]])


PLACES: dict[str, Callable[[int, Random, Array], Array]] = {
    "grid": _on_a_grid,
    "clusters": _in_clusters,
    "bed line": _on_the_bed_line,
    "wall": _beside_a_wall,
}


@dataclass(frozen=True)
class Standardised:
    """Errors over their stated deviations: of the bed's mean (its deviation in metres beside it), and root mean square
    over places in the hull of the shots, up to 3 m past it, and farther; nan where there is no such place."""

    bed: float
    deviation: float
    within: float
    near: float
    far: float


def fitted_to(yard: HiddenYard) -> FittedGround:
    return fit_ground(with_breaklines(local_shots(yard.shots, yard.accuracy), yard.lines))


def past_the_hull(yard: HiddenYard) -> Array:
    """Metres (a,) from each place around to the hull of the shots."""
    hull = MultiPoint(np.vstack([yard.shots, *yard.lines])[:, :2]).convex_hull
    return np.asarray(shapely.distance(shapely.points(yard.around[:, :2]), hull))


def inside(yard: HiddenYard) -> NDArray[np.bool_]:
    return past_the_hull(yard) == 0.0


def standardised(yard: HiddenYard) -> Standardised:
    """How far the ground modelled from a survey is off the hidden one, in stated deviations."""
    fitted = fitted_to(yard)
    bed = fitted.shots.local(yard.bed[:, :2])
    mean = float(heights_at(fitted, bed).mean())
    deviation = mean_deviation_over(fitted.likely, bed, mean)
    height, spread = elevation_and_deviation(fitted, yard.around[:, :2])
    scores, away = (height - yard.around[:, 2]) / spread, past_the_hull(yard)
    parts = (away == 0.0, (away > 0.0) & (away <= 3.0), away > 3.0)
    sizes = [float(np.sqrt(np.mean(scores[part] ** 2))) if part.any() else np.nan for part in parts]
    return Standardised((mean + fitted.shots.base - yard.bed[:, 2].mean()) / deviation, deviation, *sizes)
