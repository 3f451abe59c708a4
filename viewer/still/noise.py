"""Grain without chance: the same numbers at the same place on every machine, by whole-number arithmetic alone."""

from __future__ import annotations

import numpy as np

from terrain.grid import Array
from terrain.numerics import compiled


@compiled
def scatter(i: int, j: int, seed: int) -> float:
    """A number from 0 to 1 that belongs to a pair of whole numbers; neighbours' have nothing to do with it."""
    mixed = (i * 73856093) ^ (j * 19349663) ^ (seed * 83492791)
    mixed = (mixed ^ (mixed >> 13)) & 0x7FFFFFFF
    mixed = (mixed * 1274126177) & 0x7FFFFFFFFFFF
    mixed = mixed ^ (mixed >> 16)
    return (mixed & 0xFFFF) / 65535.0


@compiled
def scattered(rows: int, columns: int, seed: int) -> Array:
    """(rows, columns) numbers from 0 to 1 that have nothing to do with each other."""
    found = np.empty((rows, columns))
    for i in range(rows):
        for j in range(columns):
            found[i, j] = scatter(i, j, seed)
    return found


@compiled
def grain(x: float, y: float, seed: int) -> float:
    """Smooth noise with bumps one unit wide, from -1 to 1, mean 0."""
    i, j = int(x // 1.0), int(y // 1.0)
    u, v = x - i, y - j
    u = u * u * u * (u * (6.0 * u - 15.0) + 10.0)
    v = v * v * v * (v * (6.0 * v - 15.0) + 10.0)
    south = scatter(i, j, seed) * (1.0 - u) + scatter(i + 1, j, seed) * u
    north = scatter(i, j + 1, seed) * (1.0 - u) + scatter(i + 1, j + 1, seed) * u
    return 2.0 * (south * (1.0 - v) + north * v) - 1.0


@compiled
def grain_at(x: float, y: float, wide: float, pixel: float, seed: int) -> float:
    """Noise with bumps `wide` metres across at a place in metres; none where a pixel is too wide to show them."""
    share = min(max(wide / (2.0 * pixel) - 1.0, 0.0), 1.0)
    if share <= 0.0:
        return 0.0
    return share * grain(x / wide, y / wide, seed)


@compiled
def pebble(x: float, y: float, seed: int) -> tuple[float, float]:
    """Of pebbles one unit across: how far a place is from the edge of its pebble (0 to about 1), and the pebble's own
    number, 0 to 1."""
    i, j = int(x // 1.0), int(y // 1.0)
    first, second, own = 9.0, 9.0, 0.0
    for k in range(9):
        m, n = i + k % 3 - 1, j + k // 3 - 1
        away_x = m + 0.15 + 0.7 * scatter(m, n, seed) - x
        away_y = n + 0.15 + 0.7 * scatter(m, n, seed + 1) - y
        away = away_x * away_x + away_y * away_y
        if away < first:
            first, second, own = away, first, scatter(m, n, seed + 2)
        elif away < second:
            second = away
    return second**0.5 - first**0.5, own
