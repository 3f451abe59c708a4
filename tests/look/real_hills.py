"""How much of each mark several hundred real hills show: works out the table of `terrain/look/rarity.py`.

Print it with `PYTHONPATH=.:tests/look .venv/bin/python -m real_hills` and put it there.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from labelled_shapes import Shape, in_yard, labelled
from look_outlines import Array
from natural_hills import GRIDS, whole_hills

from terrain.look import natural_look
from terrain.look.bounds import BOUNDS
from terrain.look.rarity import SHARES

PATCHES = range(100, 250)  # seeds that no labelled shape has


def real_hills() -> Iterator[Shape]:
    """Every whole hill of the four grids, and 150 patches out of each, eased out in a bed."""
    for kind in GRIDS:
        yield from (labelled(kind, seed) for seed in range(len(whole_hills(kind))))
    for kind in ("terrain_fault", "terrain_coast", "terrain_low", "terrain_range"):
        yield from (labelled(kind, seed) for seed in PATCHES)


def values() -> dict[str, Array]:
    """(n,) values of each sign on the real hills."""
    found: dict[str, list[float]] = {name: [] for name in BOUNDS}
    for shape in real_hills():
        yard = in_yard(shape)
        for sign in natural_look(yard.grid, yard.existing, yard.proposed, yard.outline).signs:
            found[sign.sign].append(sign.value)
    return {name: np.array(one) for name, one in found.items()}


def table() -> dict[str, tuple[float, ...]]:
    """Quantiles of each sign at the shares of `terrain.look.rarity`, to three places."""
    return {
        name: tuple(np.quantile(one, SHARES).round(3).tolist()) for name, one in values().items() if name != "spike"
    }


if __name__ == "__main__":
    print(sum(1 for _ in real_hills()), "hills")
    for name, row in table().items():
        print(f'        "{name}": {row},')
