"""The look of a mound: every sign measured, and whether the mound reads natural."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from shapely.geometry import Polygon

from terrain.errors import InputError
from terrain.expect import expect
from terrain.grid import Array, Grid
from terrain.look.bounds import BOUNDS
from terrain.look.edges import sharp_peak, sharp_toe, too_tall
from terrain.look.faces import parallel_contours, straight_faces
from terrain.look.levels import flat_top, stepped
from terrain.look.model import Look, Measure, Sign
from terrain.look.mound import Mound, read_mound
from terrain.look.plan import cone, same_all_round
from terrain.look.section import loaf
from terrain.look.water import holds_water
from terrain.look.words import SENTENCES, SUGGESTIONS

MEASURES: dict[str, Callable[[Mound], Measure]] = {
    "cone": cone,
    "straight_faces": straight_faces,
    "sharp_toe": sharp_toe,
    "flat_top": flat_top,
    "sharp_peak": sharp_peak,
    "too_tall": too_tall,
    "same_all_round": same_all_round,
    "loaf": loaf,
    "parallel_contours": parallel_contours,
    "stepped": stepped,
    "holds_water": holds_water,
}


def natural_look(grid: Grid, existing: Array, proposed: Array, outline: Polygon) -> Look:
    """Measure the signs of an unnatural shape on the fill, proposed less existing.

    Parameters
    ----------
    grid
        Where the nodes stand.
    existing, proposed
        (ny, nx) elevations in metres. Only fill counts; ground that is cut is read as existing grade.
    outline
        The bed in metres; piles that stand wholly outside it are left out.

    Returns
    -------
    All signs in a fixed order, and whether the mound reads natural: it does where no sign is present. Where there is
    no fill every value is 0.0. Values have no unit and do not change when a mound is scaled in plan and height
    together, shifted, turned, or put on another cell.

    Raises
    ------
    InputError
        Where an array does not fit the grid or holds a value that is no number.
    """
    expect(
        "natural_look",
        grid=(grid, Grid),
        existing=(existing, np.ndarray),
        proposed=(proposed, np.ndarray),
        outline=(outline, Polygon),
    )
    for name, values in (("existing", existing), ("proposed", proposed)):
        _check(grid, name, values)
    mound = read_mound(grid, existing, proposed, outline)
    return Look.of(tuple(_sign(name, mound) for name in BOUNDS))


def _sign(name: str, mound: Mound | None) -> Sign:
    measure = Measure(0.0, None) if mound is None else MEASURES[name](mound)
    return Sign(
        sign=name,
        value=measure.value,
        bound=BOUNDS[name],
        present=measure.value > BOUNDS[name],
        at=measure.at,
        sentence=SENTENCES[name](measure.value) if mound is not None else "There is no fill to judge.",
        suggestion=SUGGESTIONS[name],
    )


def _check(grid: Grid, name: str, values: Array) -> None:
    if values.shape != grid.shape:
        raise InputError(
            f"{name} grade", f"has shape {values.shape}, the grid {grid.shape}.", "One elevation a node is needed."
        )
    missing = int(np.count_nonzero(~np.isfinite(values)))
    if missing:
        raise InputError(
            f"{name} grade", f"{missing} of {values.size} nodes hold no number.", "Every node needs an elevation."
        )
