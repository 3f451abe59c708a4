"""The look of a mound: every sign measured, and whether the mound reads natural."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from shapely.geometry import Polygon

from terrain.errors import InputError
from terrain.expect import expect
from terrain.grid import Array, Grid
from terrain.ground import Ground
from terrain.look.bounds import BOUNDS
from terrain.look.edges import sharp_peak, sharp_toe, too_tall
from terrain.look.faces import parallel_contours, straight_faces
from terrain.look.levels import flat_top, stepped
from terrain.look.model import Look, Measure, Sign
from terrain.look.mound import Mound, read_mound
from terrain.look.plan import same_all_round
from terrain.look.profiles import cone, follows_outline
from terrain.look.rarity import rarity
from terrain.look.repeats import equal_bumps, ripples
from terrain.look.section import loaf, same_section
from terrain.look.spike import spike
from terrain.look.symmetry import mirrored
from terrain.look.water import holds_water
from terrain.look.words import SENTENCES, SUGGESTIONS, far_words
from terrain.shape import Proposal
from terrain.site import Site
from terrain.units import Units

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
    "same_section": same_section,
    "equal_bumps": equal_bumps,
    "follows_outline": follows_outline,
    "mirrored": mirrored,
    "ripples": ripples,
    "spike": spike,
}


def natural_look(grid: Grid, existing: Array, proposed: Array, outline: Polygon, units: Units | None = None) -> Look:
    """Measure the signs of an unnatural shape on the fill, proposed less existing.

    Parameters
    ----------
    grid
        Where the nodes stand.
    existing, proposed
        (ny, nx) elevations in metres. Only fill counts; ground that is cut is read as existing grade.
    outline
        The bed in metres; piles that stand wholly outside it are left out.
    units
        Of the lengths in what would help; None: both, feet first.

    Returns
    -------
    All signs in a fixed order, and the verdict: natural, look here, or made (`Look`). Where there is no fill every
    value is 0.0. Values have no unit and do not change when a mound is scaled in plan and height
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
    if mound is None:
        return Look.of(tuple(_bare(name) for name in BOUNDS))
    return Look.of(tuple(_sign(name, mound, units) for name in BOUNDS))


def look_of(site: Site, ground: Ground, proposal: Proposal) -> Look:
    """The look of a proposal: of its mound alone, since the bed of a stream is no part of the form."""
    return natural_look(ground.grid, ground.elevation, proposal.mound, site.bed.outline, site.units)


def _sign(name: str, mound: Mound, units: Units | None) -> Sign:
    measure = MEASURES[name](mound)
    bound, value = BOUNDS[name], measure.value
    return Sign(
        sign=name,
        value=value,
        bound=bound.most,
        far=bound.far,
        present=value > bound.most,
        rarity=rarity(name, value),
        at=measure.at,
        sentence=SENTENCES[name](value),
        suggestion=SUGGESTIONS[name](mound.height, 2.0 * mound.half_width, far_words(units)),
    )


def _bare(name: str) -> Sign:
    bound = BOUNDS[name]
    return Sign(
        name, 0.0, bound.most, bound.far, False, 0.0, None, "There is no fill to judge.", "Give it a high point."
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
