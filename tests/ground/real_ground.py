"""Grounds that the ground's tests draw their surveys from: published, real and invented."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Random = np.random.Generator

DATA = Path(__file__).resolve().parent.parent / "data"
SAMPLE_CELL = 74.5, 92.5  # metres: 3 arc-seconds at the sample terrain's latitude


def sample_terrain() -> Array:
    """Elevations, metres, of the open terrain grid that matplotlib carries (344 by 403 cells)."""
    from matplotlib.cbook import get_sample_data

    return np.asarray(get_sample_data("jacksboro_fault_dem.npz")["elevation"], dtype=float)


def terrain_crop(random: Random, least: int = 60, most: int = 160) -> Array:
    """Every node (m, 3) of a square crop of the sample terrain, its size and place drawn at random."""
    terrain = sample_terrain()
    size = int(random.integers(least, most))
    row, column = (int(random.integers(0, extent - size)) for extent in terrain.shape)
    north, east = np.mgrid[0:size, 0:size]
    heights = terrain[row : row + size, column : column + size]
    return np.column_stack([east.ravel() * SAMPLE_CELL[0], north.ravel() * SAMPLE_CELL[1], heights.ravel()])


def yard_returns() -> Array:
    """The 9,808 ground returns of a real 60 by 40 ft yard, (n, 3) in feet; see tests/data/README.md."""
    return np.asarray(np.load(DATA / "yard_returns.npz")["shots_ft"])


def spread_out(count: int, random: Random, width: float = 60.0, depth: float = 40.0) -> Array:
    """Places (count, 2) spread over a yard as a crew paces it: about even, each shifted at random."""
    across = round(np.sqrt(count * width / depth))
    up = int(np.ceil(count / across))
    paced = np.stack(np.meshgrid(np.arange(across), np.arange(up)), axis=-1).reshape(-1, 2)[:count] + 0.5
    return (paced + random.uniform(-0.35, 0.35, paced.shape)) / [across, up] * [width, depth]


def smooth_garden(places: Array, random: Random, accuracy: float) -> Array:
    """Shots (n, 3), feet, of an invented smooth garden: a fall, two long waves, and each shot's own error."""
    heights = 100.0 + places @ random.normal(0.0, 0.03, 2)
    for _ in range(2):
        bearing = random.normal(0.0, 1.0, 2)
        wave = bearing / np.linalg.norm(bearing) * 2.0 * np.pi / random.uniform(50.0, 100.0)
        heights += random.uniform(0.1, 0.4) * np.sin(places @ wave + random.uniform(0.0, 6.0))
    return np.column_stack([places, heights + random.normal(0.0, accuracy, len(places))])


def bed_within(ground: Array, random: Random, most: int = 1200) -> Array:
    """Nodes of the ground inside an ellipse of 3 to 24 % of its extent, size, turn and place drawn at random."""
    low, high = ground[:, :2].min(axis=0), ground[:, :2].max(axis=0)
    extent = high - low
    long, short = random.uniform(0.12, 0.30) * extent[0], random.uniform(0.08, 0.25) * extent[1]
    room = extent / 2.0 - np.minimum(max(long, short), 0.45 * extent)
    turn = random.uniform(0.0, np.pi)
    offset = ground[:, :2] - (low + high) / 2.0 - random.uniform(-1.0, 1.0, 2) * room
    along = offset @ [np.cos(turn), np.sin(turn)]
    across = offset @ [-np.sin(turn), np.cos(turn)]
    inside = ground[(along / long) ** 2 + (across / short) ** 2 < 1.0]
    return inside[random.permutation(len(inside))[:most]]
