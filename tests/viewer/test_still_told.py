"""Light and grain of the stills as a page is told of them: the same figures, and tiles without a seam."""

from __future__ import annotations

import numpy as np
import pytest

from viewer.still import surfaces
from viewer.still.light import SUN_LIGHT
from viewer.still.told import FAR, NEAR, NODES, TOLD, grain_tiles, told_light

INNER = slice(20, 80)  # pixels that no seam touches


@pytest.mark.parametrize("name", ["lawn", "soil", "mulch", "gravel", "paving", "bark"])
def test_tiles_together_are_the_grain_itself(name: str) -> None:
    near, far = grain_tiles()
    number = list(TOLD).index(name)
    for j, i in [(20, 20), (33, 71), (79, 45)]:
        x, y = (i + 0.5) * NEAR, (j + 0.5) * NEAR
        own = surfaces.grain_of(TOLD[name], x, y, 0.0, NEAR)[0]
        patch = surfaces.grain_of(TOLD[name], x, y, 0.0, FAR)[0]
        assert near[number, j, i] + patch == pytest.approx(own, abs=1e-6)
        x, y = (i + 0.5) * FAR, (j + 0.5) * FAR
        assert tuple(far[number, j, i]) == pytest.approx(surfaces.grain_of(TOLD[name], x, y, 0.0, FAR), abs=1e-6)


def test_a_tile_follows_itself_without_a_seam() -> None:
    """Across its edge a tile changes no more than between two rows within, and it is as rough there."""
    near, far = grain_tiles()
    layers = [*near, *np.moveaxis(far, 3, 1).reshape(-1, NODES, NODES)]
    rough = [one for one in layers if one.std() > 1e-3]
    assert len(rough) >= len(TOLD)
    for tile in rough:
        for one in (tile, tile.T):
            within = np.abs(np.diff(one, axis=0)).mean(axis=1).max()
            across = np.abs(one[0] - one[-1]).mean()
            assert across < 1.1 * within
            assert 0.55 < one[:12].std() / one[INNER].std() < 1.6


def test_figures_of_the_light_are_the_stills_own() -> None:
    told = told_light()
    assert told["sun"] == SUN_LIGHT
    assert told["kinds"]["lawn"] == pytest.approx(surfaces.LIGHTS[surfaces.LAWN], abs=1e-5)  # type: ignore[index]
    assert list(told["kinds"]) == list(TOLD)  # type: ignore[call-overload]
