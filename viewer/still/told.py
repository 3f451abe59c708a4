"""Light, colours and grain of the stills as plain figures and tiles, for a picture that another program draws."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from terrain.grid import Array
from terrain.numerics import compiled
from viewer.still.light import BOUNCED, SKY_LIGHT, SUN_LIGHT
from viewer.still.shading import EXPOSURE, SHOULDER, THROUGH
from viewer.still.surfaces import (
    BARK,
    FOAM,
    GRAVEL,
    LAWN,
    LEAVES,
    LIGHTS,
    MULCH,
    PAVING,
    SKY_IN_WATER,
    SLANTS,
    SOIL,
    STONE,
    WATER,
    grain_of,
    leafy,
    ripples,
)

TOLD = {
    "lawn": LAWN,
    "soil": SOIL,
    "mulch": MULCH,
    "gravel": GRAVEL,
    "stone": STONE,
    "paving": PAVING,
    "water": WATER,
    "bark": BARK,
    "leaves": LEAVES,
}
NEAR, FAR = 0.012, 0.15  # metres to a pixel of the tiles: grain that is seen near, and patches that are seen from afar
NODES = 96  # pixels along a tile
_SEAM = 12  # pixels over which a tile runs into itself
_NO_GRAIN = 1e3  # metres to a pixel at which nothing of the grain is left


def told_light() -> dict[str, object]:
    """Figures of the light, and of each kind of surface its colour (light of 0 to 1) and the slant of its grain."""
    return {
        "sun": SUN_LIGHT,
        "sky": SKY_LIGHT,
        "bounced": BOUNCED,
        "exposure": EXPOSURE,
        "shoulder": SHOULDER,
        "through": THROUGH,
        "foam": FOAM,
        "mirrored": np.round(SKY_IN_WATER, 4).tolist(),
        "kinds": {name: np.round(LIGHTS[kind], 5).tolist() for name, kind in TOLD.items()},
        "slants": {name: SLANTS[kind].tolist() for name, kind in TOLD.items()},
    }


@lru_cache(maxsize=1)
def grain_tiles() -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """Grain of every kind of `TOLD` as tiles that follow each other without a seam: near, and from afar.

    Returns
    -------
    near
        (kinds, NODES, NODES), first row in the south: brightness less what `far` has of it; of water how it leans, of
        leaves how much of a tuft is drawn.
    far
        (kinds, NODES, NODES, 2): brightness and warmth, as `grain_of` gives them where a pixel is `FAR` wide.
    """
    near = [_tile(kind, NEAR)[:, :, 0] for kind in TOLD.values()]
    far = [_tile(kind, FAR) for kind in TOLD.values()]
    # What is left of near grain from afar would otherwise count twice.
    level = [0.0 if kind in (WATER, LEAVES) else grain_of(kind, 0.0, 0.0, 0.0, _NO_GRAIN)[0] for kind in TOLD.values()]
    near = [tile - own for tile, own in zip(near, level, strict=True)]
    return np.stack(near).astype(np.float32), np.stack(far).astype(np.float32)


def _tile(kind: int, pixel: float) -> Array:
    """(NODES, NODES, 2) brightness and warmth of a kind, the near one without the patches that the far one shows."""
    wide = _sampled(kind, NODES + _SEAM, pixel)
    if pixel < FAR and kind not in (WATER, LEAVES):
        wide[:, :, 0] -= _patches(kind, NODES + _SEAM, pixel)
    return _seamless(_seamless(wide).swapaxes(0, 1)).swapaxes(0, 1)


def _seamless(rows: Array) -> Array:
    """Rows whose last run on into the first: those past the end are faded into them, as rough as before."""
    mean = rows.mean(axis=(0, 1))
    share = (np.arange(_SEAM) / _SEAM).reshape(-1, 1, 1)
    first, after = rows[:_SEAM] - mean, rows[NODES:] - mean
    joined = (share * first + (1.0 - share) * after) / np.sqrt(share**2 + (1.0 - share) ** 2)
    return np.concatenate([joined + mean, rows[_SEAM:NODES]])


@compiled
def _sampled(kind: int, nodes: int, pixel: float) -> Array:
    """(nodes, nodes, 2) grain of a kind at the middles of pixels; of leaves and water what is told of them near."""
    found = np.zeros((nodes, nodes, 2))
    for j in range(nodes):
        for i in range(nodes):
            x, y = (i + 0.5) * pixel, (j + 0.5) * pixel
            if kind == WATER:
                found[j, i, 0] = ripples(x, y, pixel)
            elif kind == LEAVES:
                found[j, i, 0] = leafy(x, y, 0.0, pixel)
            else:
                found[j, i, 0], found[j, i, 1] = grain_of(kind, x, y, 0.0, pixel)
    return found


@compiled
def _patches(kind: int, nodes: int, pixel: float) -> Array:
    """(nodes, nodes) how far brightness at the same places is off its level where a pixel is FAR wide."""
    found = np.zeros((nodes, nodes))
    level = grain_of(kind, 0.0, 0.0, 0.0, _NO_GRAIN)[0]
    for j in range(nodes):
        for i in range(nodes):
            found[j, i] = grain_of(kind, (i + 0.5) * pixel, (j + 0.5) * pixel, 0.0, FAR)[0] - level
    return found
