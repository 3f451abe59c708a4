"""Yards whose ground is known in closed form, scanned with labels: lawn, shrubs, a person, a bench, a wall, trunks,
mirror images below the ground, blades of grass, white noise and a drift that near points share.

Points stand in hidden places under what stands in front of them, and thin out with the distance from the walk.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial

import numpy as np
from scipy.ndimage import gaussian_filter, map_coordinates

GROUND, SHRUB, TRUNK, THING, LOW = 2, 3, 5, 6, 7


@dataclass(frozen=True)
class ScannedYard:
    """(n, 3) points in metres, (n,) labels, and for each trunk x, y, radius at breast height; `surface` is the true
    soil (m,) at places (m, 2), None for that of the seed.
    """

    points: np.ndarray
    labels: np.ndarray
    trunks: tuple[tuple[float, float, float], ...]
    seed: int
    surface: Callable[[np.ndarray], np.ndarray] | None = None

    def truth(self, places: np.ndarray) -> np.ndarray:
        return soil(self.seed, places) if self.surface is None else self.surface(places)


def soil(seed: int, places: np.ndarray) -> np.ndarray:
    """True height of the soil: a fall, waves, a bank of 0.6 m in 1.2 m, and an old mound of 0.5 m."""
    chance = np.random.default_rng([seed, 1])
    x, y = places[:, 0], places[:, 1]
    fall, turn, ahead = chance.uniform(0.02, 0.05), chance.uniform(0, math.tau), chance.uniform(0, math.tau, 2)
    height = fall * (x * math.cos(turn) + y * math.sin(turn))
    height += 0.12 * np.sin(x / 3.1 + ahead[0]) * np.sin(y / 4.3 + ahead[1])
    height += 0.6 * np.clip((y - 16.5 - 0.3 * np.sin(x / 2.0)) / 1.2, 0.0, 1.0)
    middle = chance.uniform(6.0, 14.0, 2)
    return np.asarray(height + 0.5 * np.exp(-(((x - middle[0]) ** 2 + (y - middle[1]) ** 2) / 2.0 / 2.5**2)))


def scanned_yard(
    seed: int,
    density: float = 300.0,
    side: float = 20.0,
    drift: float = 0.010,
    grass: float = 0.020,
    noise: float = 0.008,
    bend: float = 2.0,
    surface: Callable[[np.ndarray], np.ndarray] | None = None,
) -> ScannedYard:
    """A square yard; `density` of ground points a square metre; `drift`, `grass` and `noise` standard deviations in
    metres, `bend` the metres over which the drift is smoothed; `surface` as `ScannedYard` has it.
    """
    true = partial(soil, seed) if surface is None else surface
    chance = np.random.default_rng([seed, 2])
    plan = chance.uniform(0.0, side, (int(density * side * side), 2))
    walk = np.abs(plan[:, 1] - 0.5 * side - 0.15 * side * np.sin(plan[:, 0] / side * math.tau))
    plan = plan[chance.uniform(size=len(plan)) < 1.0 / (1.0 + (walk / 6.0) ** 2)]
    parts: list[np.ndarray] = []
    labels: list[np.ndarray] = []
    hidden = np.zeros(len(plan), dtype=bool)

    def put(points: np.ndarray, label: int) -> None:
        parts.append(points)
        labels.append(np.full(len(points), label))

    def on_soil(plan: np.ndarray, up: np.ndarray) -> np.ndarray:
        return np.column_stack([plan, true(plan) + up])

    def hide(x: float, y: float, reach: float, share: float) -> None:
        near = np.hypot(plan[:, 0] - x, plan[:, 1] - y) < reach
        hidden[near] |= chance.uniform(size=int(near.sum())) < share

    def place() -> tuple[float, float]:
        x, y = chance.uniform(1.8, side - 1.8, 2)
        return float(x), float(y)

    for _ in range(8):  # shrubs: half balls, denser outside
        (x, y), wide, high = place(), chance.uniform(0.4, 1.1), chance.uniform(0.4, 1.3)
        count = int(density * 3.0 * wide**2 * math.pi)
        way = chance.normal(size=(count, 3))
        way /= np.linalg.norm(way, axis=1)[:, None]
        way *= chance.uniform(0.75, 1.0, count)[:, None]
        put(on_soil(np.column_stack([x + wide * way[:, 0], y + wide * way[:, 1]]), high * np.abs(way[:, 2])), SHRUB)
        hide(x, y, wide, chance.uniform(0.8, 0.93))
    trunks = []
    spots: list[tuple[float, float]] = []
    while len(trunks) < 3:
        x, y = place()
        if all(math.dist((x, y), other) > 3.0 for other in spots):
            spots.append((x, y))
            trunks.append((x, y, float(chance.uniform(0.10, 0.35))))
    for x, y, radius in trunks:
        count = int(4.0 * density * math.tau * radius * 2.5)
        up, angle = chance.uniform(0.0, 2.5, count), chance.uniform(0.0, math.tau, count)
        out = radius * (1.0 + (0.55 + 0.15 * np.cos(5.0 * angle)) * np.exp(-up / 0.18))
        put(on_soil(np.column_stack([x + out * np.cos(angle), y + out * np.sin(angle)]), up), TRUNK)
        parts[-1][:, 2] += true(np.array([[x, y]])) - true(parts[-1][:, :2])  # it stands on its middle
        hide(x, y, 1.25 * radius, 1.0)
        hide(x, y, 1.6 * radius, 0.9)
    for wide, deep, high in ((0.45, 0.3, 1.75), (1.6, 0.45, 0.45), (1.4, 0.8, 0.74), (4.0, 0.25, 0.6)):
        x, y = place()  # a person, a bench, a table, a wall: boxes, seen from above and from the sides
        count = int(2.0 * density * (wide * deep + 2.0 * (wide + deep) * high))
        box = chance.uniform((-wide / 2, -deep / 2, 0.0), (wide / 2, deep / 2, high), (count, 3))
        face = chance.integers(0, 3, count)
        box[face == 0, 2] = high
        box[face == 1, 0] = np.sign(box[face == 1, 0]) * wide / 2
        box[face == 2, 1] = np.sign(box[face == 2, 1]) * deep / 2
        put(on_soil(box[:, :2] + (x, y), box[:, 2]), THING)
        inside = (np.abs(plan[:, 0] - x) < wide / 2) & (np.abs(plan[:, 1] - y) < deep / 2)
        hidden |= inside & (chance.uniform(size=len(plan)) < 0.9)
    lawn = plan[~hidden]
    put(on_soil(lawn, np.abs(chance.normal(0.0, grass, len(lawn)))), GROUND)
    low = lawn[chance.choice(len(lawn), len(lawn) // 1000)]
    put(on_soil(low, -chance.uniform(0.3, 2.0, len(low))), LOW)
    points, kinds = np.vstack(parts), np.concatenate(labels)
    points += chance.normal(0.0, noise, points.shape)
    points[:, 2] += drifted(chance, points[:, :2], side, drift, bend)
    return ScannedYard(points, kinds, tuple(trunks), seed, surface)


def drifted(chance: np.random.Generator, places: np.ndarray, side: float, deviation: float, bend: float) -> np.ndarray:
    """A smooth field that near points share: white noise smoothed over 2 m leaves a range of about 4 m."""
    cell, margin = 0.5, 20
    count = int(side / cell) + 2 * margin
    field = gaussian_filter(chance.normal(size=(count, count)), bend / cell)
    at = (places / cell + margin).T[::-1]
    return np.asarray(deviation * map_coordinates(field / field.std(), at, order=1, mode="nearest"))


def rates(ground: np.ndarray, labels: np.ndarray) -> tuple[float, float, float]:
    """Type I, type II and total error, as Sithole and Vosselman 2004 define them."""
    true = labels == GROUND
    lost, taken = float(np.mean(~ground[true])), float(np.mean(ground[~true]))
    return lost, taken, float(np.mean(ground != true))
