"""What surfaces look like: the colour of lawn, soil, mulch, stone, water and so on at a place, with its grain.

Colours are those of the Munsell chips that soils and turf are matched with in the field (sRGB of the chips, illuminant
C to D65); the sizes of the grain are our own choice.
"""

from __future__ import annotations

import numpy as np

from terrain.grid import Array
from terrain.numerics import compiled
from viewer.still.noise import grain, grain_at, pebble

# Kinds of surface. GROUND takes its kind from the map of what lies on the ground.
PLAIN, GROUND, LAWN, BEYOND, SOIL, MULCH, GRAVEL, STONE, PAVING, WATER, BARK, LEAVES = range(12)

# sRGB, 0 to 255, one row a kind.
COLOURS = np.array(
    [
        (217, 211, 199),  # plain: the body's own colour is taken
        (83, 104, 33),
        (91, 104, 58),  # lawn: 5GY 4/4, a little of 4/6 in it
        (124, 130, 100),  # ground that nobody measured: the same, drained
        (124, 99, 70),  # dry topsoil, between 10YR 4/3 and 5/4
        (137, 112, 84),  # wood mulch in its first season, between 10YR 6/4 and 4/3
        (140, 136, 128),  # gravel
        (150, 143, 130),  # stone
        (176, 170, 160),  # paving
        (58, 80, 84),  # water, as dark as its bed
        (92, 76, 60),  # bark
        (86, 108, 52),  # leaves
    ],
    dtype=float,
)
SKY_IN_WATER = np.array([0.62, 0.70, 0.76])  # linear; what still water shows at a grazing look
FOAM = 0.55  # linear; water that falls


def linear(colours: Array) -> Array:
    """Light (0 to 1) of sRGB colours (0 to 255); IEC 61966-2-1."""
    share = np.asarray(colours, dtype=float) / 255.0
    return np.where(share <= 0.04045, share / 12.92, ((share + 0.055) / 1.055) ** 2.4)


def encoded(light: Array) -> Array:
    """sRGB (0 to 1) of light (0 to 1), the inverse of `linear`; IEC 61966-2-1."""
    return np.asarray(
        np.where(light <= 0.0031308, 12.92 * light, 1.055 * np.maximum(light, 0.0) ** (1.0 / 2.4) - 0.055)
    )


LIGHTS = linear(COLOURS)

# How far grain shifts east and north with each metre up, one row a kind, so that it lies on what stands upright too.
SLANTS = np.zeros((len(COLOURS), 2))
SLANTS[GRAVEL], SLANTS[STONE], SLANTS[BARK], SLANTS[LEAVES] = (0.7, 0.7), (0.6, 1.0), (0.1, 0.17), (0.7, -0.7)


@compiled
def grain_of(kind: int, x: float, y: float, z: float, pixel: float) -> tuple[float, float]:
    """Brightness (1 is the kind's own) and warmth (0) at a place, metres, where a pixel is `pixel` wide."""
    if kind in (LAWN, BEYOND):
        return _turf(x, y, pixel)
    if kind in (SOIL, MULCH):
        return _loose(kind, x, y, pixel)
    if kind == GRAVEL:
        return _gravel(x + SLANTS[GRAVEL, 0] * z, y + SLANTS[GRAVEL, 1] * z, pixel)
    return _hard(kind, x, y, z, pixel)


@compiled
def _turf(x: float, y: float, pixel: float) -> tuple[float, float]:
    """Brightness and warmth of turf: patches, tufts, blades."""
    wide = grain_at(x, y, 1.7, pixel, 1)
    tuft = grain_at(x, y, 0.35, pixel, 2)
    small = grain_at(x, y, 0.09, pixel, 3)
    blade = grain_at(x * 1.0 + 0.3 * y, 0.4 * y, 0.022, pixel, 4)
    return 1.0 + 0.08 * wide + 0.07 * tuft + 0.09 * small + 0.16 * blade, 0.07 * wide + 0.03 * tuft


@compiled
def _loose(kind: int, x: float, y: float, pixel: float) -> tuple[float, float]:
    """Brightness and warmth of soil (crumbs) and of mulch (chips that lie all ways)."""
    wide = grain_at(x, y, 0.8, pixel, 11)
    if kind == SOIL:
        crumb = grain_at(x, y, 0.05, pixel, 12) + 0.7 * grain_at(x, y, 0.02, pixel, 13)
        return 1.0 + 0.06 * wide + 0.14 * crumb, 0.02 * wide
    # Chips lie all ways: the brightest of three sets, each drawn out along a direction of its own.
    first = grain_at(0.87 * x + 0.5 * y, 3.0 * (0.87 * y - 0.5 * x), 0.07, pixel, 14)
    second = grain_at(0.77 * x - 0.64 * y, 3.0 * (0.77 * y + 0.64 * x), 0.06, pixel, 15)
    third = grain_at(0.17 * x + 0.98 * y, 3.0 * (0.17 * y - 0.98 * x), 0.05, pixel, 17)
    chip = max(first, second, third)
    clump = grain_at(x, y, 0.16, pixel, 16)
    return 0.97 + 0.05 * wide + 0.07 * clump + 0.2 * (chip - 0.3), 0.05 * second + 0.03 * wide


@compiled
def _gravel(x: float, y: float, pixel: float) -> tuple[float, float]:
    """Brightness and warmth of rounded stones a hand across, dark between them."""
    size = 0.065
    share = min(max(size / (2.0 * pixel) - 0.6, 0.0), 1.0)
    if share <= 0.0:
        return 0.92, 0.0
    edge, own = pebble(x / size + 0.3 * grain(y / size, x / size, 22), y / size, 21)
    bright = min(0.62 + 1.1 * edge, 1.0) * (0.78 + 0.4 * own)
    return 0.95 + share * (bright - 0.95), 0.14 * share * (own - 0.4)


@compiled
def _hard(kind: int, x: float, y: float, z: float, pixel: float) -> tuple[float, float]:
    """Brightness and warmth of stone, paving, bark and leaves; plain bodies have none."""
    if kind == STONE:
        rough = grain_at(x + SLANTS[STONE, 0] * z, y + SLANTS[STONE, 1] * z, 0.07, pixel, 31) + grain_at(
            x - z, y + 0.6 * z, 0.02, pixel, 32
        )
        return 1.0 + 0.1 * rough, 0.03 * rough
    if kind == PAVING:
        return 1.0 + 0.03 * grain_at(x, y, 0.6, pixel, 33) + 0.05 * grain_at(x, y, 0.015, pixel, 34), 0.0
    if kind == BARK:
        return 1.0 + 0.28 * grain_at(x + SLANTS[BARK, 0] * z, y + SLANTS[BARK, 1] * z, 0.05, pixel, 35), 0.03
    if kind == LEAVES:
        return 1.0 + 0.3 * grain_at(x + SLANTS[LEAVES, 0] * z, y + SLANTS[LEAVES, 1] * z, 0.13, pixel, 36), 0.0
    return 1.0, 0.0


@compiled
def ripples(x: float, y: float, pixel: float) -> float:
    """How far water leans at a place, -1 to 1."""
    return 0.6 * grain_at(x, y, 0.14, pixel, 41) + 0.4 * grain_at(x, y, 0.05, pixel, 42)


@compiled
def water_look(steep: float, against: float, ripple: float) -> tuple[float, float]:
    """How much of water is foam, and how much of the sky it mirrors, 0 to 1.

    `steep` is the upright part of its surface's normal, 0 where it falls; `against` the cosine of the look on it.
    """
    foam = min(max(2.2 * (0.75 - steep) + 0.25 * ripple, 0.0), 1.0)
    flat = 1.0 - min(max(against + 0.12 * ripple, 0.0), 1.0)
    # Schlick's form of Fresnel's law, for water: 0.02 straight down, all of it at a grazing look.
    mirror = 0.02 + 0.98 * flat * flat * flat * flat * flat
    return foam, min(1.6 * mirror + 0.06 * (1.0 + ripple), 0.85)


@compiled
def leafy(x: float, y: float, z: float, pixel: float) -> float:
    """How much of a tuft of leaves is drawn at a place: leaves, and the gaps between them."""
    leaf = grain_at(x + 0.7 * z, y - 0.7 * z, 0.11, pixel, 52) + 0.6 * grain_at(x - z, y + z, 0.05, pixel, 53)
    return min(max(0.9 + 2.5 * leaf, 0.0), 1.0)
