"""What a person types after --height, --depth, --soil, --kind and --chance, read into a what-if."""

from __future__ import annotations

import math

from terrain.errors import InputError
from terrain.limits import HIGHEST_CREST
from terrain.shape import MOST
from terrain.site import soil_factors
from terrain.soil import WhatIf
from terrain.units import Units, as_written, parse_length, parse_share, parse_volume, show_length


def asked_for(
    units: Units,
    height: str | None,
    soil: str | None,
    kind: str | None,
    chance: str | None = None,
    depth: str | None = None,
) -> WhatIf:
    """The what-if that was typed.

    Parameters
    ----------
    units
        The site's units, which a bare volume is in; a bare height is a factor on all heights.
    height, soil, kind, chance, depth
        As typed, or None.

    Raises
    ------
    InputError
        Where one of them cannot be read, or --height and --soil are both given.
    """
    named = (("--height", height), ("--soil", soil), ("--depth", depth))
    both = [name for name, value in named if value is not None]
    if len(both) > 1:
        raise InputError(" and ".join(both[:2]), "each sets the heights;", "give one of them.")
    scale, top = (None, None) if height is None else _height(height, units)
    return WhatIf(
        scale,
        top,
        None if depth is None else _mean_depth(depth, units),
        None if soil is None else _soil(soil, units),
        None if kind is None else _kind(kind),
        None if chance is None else _chance(chance),
    )


def _height(text: str, units: Units) -> tuple[float | None, float | None]:
    """A factor on all heights ("0.8", "80 %"), or the height of the top in metres ("20 in")."""
    accepted = f'Accepted: a factor above 0 and up to {MOST:g}, such as 0.8 or "80 %", or a length, such as "20 in".'
    factor = _factor(text)
    if factor is not None:
        if not 0.0 < factor <= MOST:
            raise InputError("--height", f"{as_written(text)} is out of range.", accepted)
        return factor, None
    try:
        top = parse_length(text, units, "--height")
    except InputError:
        raise InputError("--height", f"{as_written(text)} is neither a factor nor a length.", accepted) from None
    if not 0.0 < top <= HIGHEST_CREST.value:
        most = show_length(HIGHEST_CREST.value, units, "distance")
        raise InputError("--height", f"{as_written(text)} is out of range.", f"Accepted: above 0, up to {most}.")
    return None, top


def _mean_depth(text: str, units: Units) -> float:
    depth = parse_length(text, units, "--depth")
    if not 0.0 < depth <= HIGHEST_CREST.value:
        most = show_length(HIGHEST_CREST.value, units, "distance")
        raise InputError("--depth", f"{as_written(text)} is out of range.", f"Accepted: above 0, up to {most}.")
    return depth


def _factor(text: str) -> float | None:
    """The number that a text is, a percentage taken as its share; None for anything else."""
    bare = text.strip()
    try:
        number = float(bare.removesuffix("%"))
    except ValueError:
        return None
    if not math.isfinite(number) or "_" in bare:
        return None
    return number / 100.0 if bare.endswith("%") else number


def _chance(text: str) -> float:
    share = parse_share(text, "--chance")
    if share == 0.0:
        raise InputError("--chance", "0 is no chance.", 'Accepted: above 0 and under 1, such as 0.9 or "90 %".')
    return share


def _soil(text: str, units: Units) -> float:
    volume = parse_volume(text, units, "--soil")
    if volume <= 0.0:
        raise InputError("--soil", f"{as_written(text)} is not above zero.", "Accepted: more than 0.")
    return volume


def _kind(text: str) -> str:
    try:
        soil_factors(text)
    except InputError as error:
        raise InputError("--kind", error.problem, error.accepted.partition(";")[0] + ".") from None
    return text.strip()
