"""Sun and sky: what share of the sun's disc and of the sky's dome a place sees, and how light that makes it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from terrain.grid import Array, Index
from terrain.numerics import compiled
from viewer.still.raster import MIDDLE, Nearness, lay_triangles, no_faces

# A clear day with the sun 30 degrees up, kilolux: on a surface square to the sun, and from the whole sky. Daylight
# tables of lighting practice; only their ratio counts here: a cast shadow is 0.23 of sunlit level ground.
SUN_LIGHT, SKY_LIGHT = 75.0, 11.0
SUN_HIGH = 30.0  # degrees over the horizon: low enough that a side of 1:4 stands off level ground by a third
BOUNCED = 0.25  # share of the light on level ground that comes back from it, for what looks down on it
DIRECTIONS = 16  # in which the horizon is looked for
MOST_ACROSS = 1536  # cells across the map of shadows


def sun_over(toward: Array, side: float, behind: float) -> Array:
    """Unit vector (3,) to the sun, for a picture that looks along (2,) `toward` on the plan.

    `side`: how much of it comes from the right (negative: from the left), `behind`: from behind what is seen.
    """
    right = np.array([toward[1], -toward[0]])
    flat = side * right + behind * np.asarray(toward)
    flat = flat / np.hypot(*flat)
    high = np.radians(SUN_HIGH)
    return np.array([flat[0] * np.cos(high), flat[1] * np.cos(high), np.sin(high)])


@dataclass(frozen=True)
class ShadowMap:
    """How far up toward the sun the first thing stands that stops it.

    Parameters
    ----------
    frame
        (3, 3): unit vectors across the map, down it, and toward the sun.
    start, cell
        Where the map begins (2,) and how wide its cells are, metres.
    height
        (rows, columns, 1) of what stops the sun, metres toward the sun over `floor`; 0 where nothing does.
    floor
        What `height` counts from, metres.
    """

    frame: Array
    start: Array
    cell: float
    height: Nearness
    floor: float


def shadow_map(points: Array, triangles: Index, sun: Array) -> ShadowMap:
    """The shadows of triangles in parallel light.

    Parameters
    ----------
    points, triangles
        (v, 3) metres, and (m, 3) indices.
    sun
        Unit vector (3,) to the sun, not straight up.
    """
    across = np.array([-sun[1], sun[0], 0.0]) / np.hypot(sun[0], sun[1])
    frame = np.stack([across, np.cross(sun, across), sun])
    turned = np.ascontiguousarray(points @ frame.T)
    casts = np.zeros(len(turned), dtype=bool)
    casts[triangles] = True
    used = turned[casts] if len(triangles) else np.zeros((1, 3))
    low, high = _span(used)
    cell = max(float((high - low)[:2].max()) / MOST_ACROSS, 0.004)
    size = int((high[0] - low[0]) / cell) + 3, int((high[1] - low[1]) / cell) + 3
    start, floor = low[:2] - cell, float(low[2]) - 1.0
    height, seen = no_faces(size, 1)
    spots = np.ascontiguousarray((turned[:, :2] - start) / cell)
    lay_triangles(spots, turned[:, 2] - floor, triangles, np.arange(len(triangles)), MIDDLE, height, seen)
    return ShadowMap(frame, start, cell, height, floor)


def _span(points: Array) -> tuple[Array, Array]:
    """Least and greatest coordinates of points (n, 3), (3,) each; all three at once take ten times as long."""
    return np.array([axis.min() for axis in points.T]), np.array([axis.max() for axis in points.T])


@compiled
def sunlit(
    x: float, y: float, z: float, slack: float, frame: Array, start: Array, cell: float, height: Nearness, floor: float
) -> float:
    """Share of the sun that reaches a place, 0 to 1: how much of the map about it stands no higher than it.

    `slack`: metres toward the sun that something must stand higher to stop it.
    """
    across = (frame[0, 0] * x + frame[0, 1] * y + frame[0, 2] * z - start[0]) / cell - 0.5
    down = (frame[1, 0] * x + frame[1, 1] * y + frame[1, 2] * z - start[1]) / cell - 0.5
    level = frame[2, 0] * x + frame[2, 1] * y + frame[2, 2] * z - floor + slack
    i, j = int(np.floor(across)), int(np.floor(down))
    if min(i, j) < 1 or i > height.shape[1] - 4 or j > height.shape[0] - 4:
        return 1.0
    u, v = across - i, down - j
    light = 0.0
    for k in range(16):
        row, column = k // 4, k % 4
        # A square of three cells about the place, its outer cells by the share that lies within it.
        share = _share(row, v) * _share(column, u)
        light += share * (height[j + row - 1, i + column - 1, 0] <= level)
    return light / 9.0


@compiled
def _share(number: int, part: float) -> float:
    """Of four cells in a row, how much of one lies within a width of three that starts `part` of a cell in."""
    if number == 0:
        return 1.0 - part
    return part if number == 3 else 1.0


@compiled
def sky_view(elevation: Array, cell: float, reach: float) -> Array:
    """Share of the sky that every node of a grid sees: 1 less the mean sine of its horizon all round.

    Zaksek, Ostir, Kokalj 2011, "Sky-view factor as a relief visualization technique", Remote Sensing 3(2), 398-415.

    Parameters
    ----------
    elevation
        (ny, nx) metres.
    cell, reach
        Metres between nodes, and how far away the horizon is looked for.
    """
    rows, columns = elevation.shape
    sky = np.ones((rows, columns))
    for k in range(DIRECTIONS):
        turn = 2.0 * np.pi * k / DIRECTIONS
        east, north = np.cos(turn), np.sin(turn)
        for j in range(rows):
            for i in range(columns):
                sky[j, i] -= _horizon(elevation, j, i, east, north, cell, reach) / DIRECTIONS
    return sky


@compiled
def _horizon(elevation: Array, j: int, i: int, east: float, north: float, cell: float, reach: float) -> float:
    """Sine of the horizon's angle in one direction from a node, 0 where the ground falls away."""
    rows, columns = elevation.shape
    steepest, away = 0.0, 1.0
    while away * cell <= reach:
        x, y = i + away * east, j + away * north
        if min(x, y) < 0.0 or x > columns - 1.0 or y > rows - 1.0:
            break
        m, n = min(int(x), columns - 2), min(int(y), rows - 2)
        u, v = x - m, y - n
        low = elevation[n, m] * (1.0 - u) + elevation[n, m + 1] * u
        high = elevation[n + 1, m] * (1.0 - u) + elevation[n + 1, m + 1] * u
        rise = (low * (1.0 - v) + high * v - elevation[j, i]) / (away * cell)
        steepest = max(steepest, rise)
        away *= 1.4
    return steepest / np.sqrt(1.0 + steepest * steepest)


@compiled
def tone(facing: float, sun: float, sky: float, ground: float, straight: float) -> float:
    """How light a surface is beside level ground in the open sun, which is 1.

    Parameters
    ----------
    facing
        Cosine of the angle between the surface and the sun.
    sun, sky, ground
        Shares of sun, sky and sunlit ground that it sees, 0 to 1.
    straight
        Sine of the sun's height.
    """
    level = SUN_LIGHT * straight + SKY_LIGHT
    return (SUN_LIGHT * max(facing, 0.0) * sun + SKY_LIGHT * sky) / level + BOUNCED * ground
