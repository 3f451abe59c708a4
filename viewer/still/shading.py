"""Colour and light of what shows in the pixels, and the picture that they make."""

from __future__ import annotations

from functools import cache

import numpy as np
from numpy.typing import NDArray

from terrain.grid import Array, Index
from terrain.numerics import compiled
from viewer.still.cover import Cover, kinds_at, read_map
from viewer.still.fragments import Fragments
from viewer.still.light import ShadowMap, sunlit, tone
from viewer.still.stage import Mesh
from viewer.still.surfaces import (
    BARK,
    FOAM,
    GROUND,
    LEAVES,
    LIGHTS,
    MULCH,
    SKY_IN_WATER,
    STONE,
    WATER,
    encoded,
    grain_of,
    leafy,
    linear,
    ripples,
    water_look,
)

EXPOSURE = 1.75  # lawn in the sun comes out as bright as the eye takes it to be, not as its chip is in a shop
_STEPS = 8192  # of light from 0 to 2 in the table of tones
THROUGH = (0.3, 0.6)  # light of leaves in the sun: what comes through them, and what depends on how they stand to it
SHOULDER = 0.72  # light over this is pressed together, so that pale things in the sun keep their form
_SLACK = 0.004  # metres: what rounding of the map of shadows leaves of a surface over itself


def shown_as(colours: Array) -> Array:
    """Colours (n, 3) of plain bodies, sRGB of 0 to 255, that come out as the ones given on level ground in the sun."""
    return np.asarray(255.0 * encoded(linear(colours) / EXPOSURE))


@cache
def tone_table() -> NDArray[np.float32]:
    """(8192,) sRGB of 0 to 1 for light from 0 to 2, its brightest part pressed together; IEC 61966-2-1."""
    light = np.linspace(0.0, 2.0, _STEPS)
    room = 1.0 - SHOULDER
    over = np.maximum(light - SHOULDER, 0.0) / room
    pressed = np.where(light > SHOULDER, SHOULDER + room * over / (1.0 + over), light)
    return encoded(pressed).astype(np.float32)


def lay_fragments(
    seen: Fragments, mesh: Mesh, cover: Cover, sun: Array, shadows: ShadowMap, film: Array, picture: NDArray[np.float32]
) -> None:
    """Put the colours of fragments over what `picture` (pixels, 3), sRGB of 0 to 1, holds; `film`: opacity by body."""
    count = len(seen.faces)
    colours, shown, kinds = np.empty((count, 3)), np.ones(count), np.empty(count, dtype=np.int64)
    spots = (seen.places[:, :2] - cover.corner) / cover.cell
    maps, lights = cover.maps, LIGHTS.copy()
    if cover.mulch is not None:
        lights[MULCH] = linear(cover.mulch)
    _colour(
        *(
            seen.places,
            seen.normals,
            seen.against,
            seen.widths,
            seen.faces,
            mesh.kinds,
            mesh.light,
            lights,
            SKY_IN_WATER,
        ),
        *(spots, cover.inside, cover.kinds, maps, cover.off, colours, shown, kinds),
    )
    shade = (shadows.frame, shadows.start, shadows.cell, shadows.height, shadows.floor)
    _light_up(seen.places, seen.normals, kinds, spots, maps, sun, *shade, colours)
    shares = seen.shares * shown * film[mesh.bodies[seen.faces]]
    _lay(seen.pixels, shares, colours, tone_table(), EXPOSURE, picture)


@compiled
def _colour(
    places: Array,
    normals: Array,
    against: Array,
    widths: Array,
    faces: Index,
    face_kinds: Index,
    face_light: Array,
    lights: Array,
    mirrored: Array,
    spots: Array,
    inside: NDArray[np.float32],
    map_kinds: Index,
    maps: NDArray[np.float32],
    off: float,
    colours: Array,
    shown: Array,
    kinds: Index,
) -> None:
    """Put colour (light of 0 to 1), how much is drawn, and kind of each fragment into the last three arrays."""
    for n in range(len(faces)):
        face = faces[n]
        x, y, z, pixel = places[n, 0], places[n, 1], places[n, 2], widths[n]
        kind = face_kinds[face]
        # Trees stand whole where their foot is shown.
        shown[n] = read_map(maps, 0, spots[n, 0], spots[n, 1], off) if kind < BARK else 1.0
        if shown[n] <= 0.0:
            continue
        if kind == GROUND:
            under, kind, share = kinds_at(x, y, pixel, spots[n, 0], spots[n, 1], inside, map_kinds)
            _tint(lights, under, under, 1.0, x, y, z, pixel, n, colours)
            _tint(lights, kind, kind, share, x, y, z, pixel, n, colours)
        else:
            _tint(face_light, face, kind, 1.0, x, y, z, pixel, n, colours)
        if kind == WATER:
            _wet(normals[n, 2], against[n], x, y, pixel, mirrored, n, colours)
        elif kind == LEAVES:
            shown[n] = leafy(x, y, z, pixel)
        kinds[n] = kind


@compiled
def _tint(
    light: Array, row: int, kind: int, share: float, x: float, y: float, z: float, pixel: float, n: int, colours: Array
) -> None:
    """Lay the colour of a kind over that of a fragment by a share."""
    bright, warm = grain_of(kind, x, y, z, pixel)
    for k in range(3):
        own = light[row, k] * bright * (1.0 + (1 - k) * warm)
        colours[n, k] = own if share >= 1.0 else (1.0 - share) * colours[n, k] + share * own


@compiled
def _wet(
    steep: float, against: float, x: float, y: float, pixel: float, mirrored: Array, n: int, colours: Array
) -> None:
    """Turn the bed under water into water: foam where it falls, and the sky that it mirrors."""
    ripple = ripples(x, y, pixel)
    foam, mirror = water_look(steep, against, ripple)
    for k in range(3):
        bed = (1.0 - foam) * colours[n, k] * (1.0 + 0.18 * ripple) + foam * FOAM
        colours[n, k] = (1.0 - mirror) * bed + mirror * mirrored[k]


@compiled
def _light_up(
    places: Array,
    normals: Array,
    kinds: Index,
    spots: Array,
    maps: NDArray[np.float32],
    sun: Array,
    frame: Array,
    start: Array,
    cell: float,
    height: NDArray[np.float32],
    floor: float,
    colours: Array,
) -> None:
    """Turn the colours of surfaces into the light that comes from them."""
    for n in range(len(kinds)):
        facing = normals[n, 0] * sun[0] + normals[n, 1] * sun[1] + normals[n, 2] * sun[2]
        lit = 0.0
        if facing > 0.0:
            # What stands no higher than this is the surface itself, as wide as the cells of the map are.
            slack = _SLACK + cell * (1.5 + 2.0 * np.sqrt(max(1.0 - facing * facing, 0.0)) / max(facing, 0.03))
            lit = sunlit(places[n, 0], places[n, 1], places[n, 2], slack, frame, start, cell, height, floor)
        sky = 0.5 + 0.5 * normals[n, 2]
        if kinds[n] < STONE:
            open_sky = read_map(maps, 1, spots[n, 0], spots[n, 1], 1.0)
            sky *= open_sky * open_sky
        if kinds[n] == LEAVES:  # light comes through them
            facing, lit = THROUGH[0] + THROUGH[1] * abs(facing), 1.0
        light = tone(facing, lit, sky, 0.5 - 0.5 * normals[n, 2], sun[2])
        for k in range(3):
            colours[n, k] *= light


@compiled
def _lay(
    pixels: Index,
    shares: Array,
    colours: Array,
    table: NDArray[np.float32],
    exposure: float,
    picture: NDArray[np.float32],
) -> None:
    """Mix the fragments of each pixel, which follow each other, and lay them over the picture by what they cover."""
    last, n = len(table) - 1, 0
    while n < len(pixels):
        pixel, covered, red, green, blue = pixels[n], 0.0, 0.0, 0.0, 0.0
        while n < len(pixels) and pixels[n] == pixel:
            share = shares[n]
            if share > 0.0:
                covered += share
                red += share * table[min(int(0.5 * exposure * colours[n, 0] * last), last)]
                green += share * table[min(int(0.5 * exposure * colours[n, 1] * last), last)]
                blue += share * table[min(int(0.5 * exposure * colours[n, 2] * last), last)]
            n += 1
        picture[pixel, 0] = np.float32(red + (1.0 - covered) * picture[pixel, 0])
        picture[pixel, 1] = np.float32(green + (1.0 - covered) * picture[pixel, 1])
        picture[pixel, 2] = np.float32(blue + (1.0 - covered) * picture[pixel, 2])
