"""Stakes that the known points do not place well are taped from stakes that they do."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import TypeGuard

import numpy as np
from shapely.geometry.base import BaseGeometry

from terrain.field.setout.known import STAKE
from terrain.field.setout.model import Known, Spot, Tapes
from terrain.field.setout.pairs import POOR, best_tapes, too_flat

_ROUNDS = 3  # stakes from stakes from stakes: beyond, the slips add up to more than a crew would stand for


def tape_all(known: Sequence[Known], spots: Sequence[Spot], obstacles: BaseGeometry) -> tuple[Tapes, ...]:
    """The tapes of every stake, from known points where two of them serve, from other stakes where not.

    Parameters
    ----------
    known
        Points to start from.
    spots
        The stakes.
    obstacles
        Buildings and trunks, which no tape can cross, metres.

    Raises
    ------
    InputError
        Where some stake cannot be placed even so, or the site has no two known points.
    """
    places = np.array([spot.at for spot in spots])
    found = list(best_tapes(known, places, obstacles))
    for _ in range(_ROUNDS):
        better = _taped_from_stakes(known, spots, found, obstacles)
        if not better:
            break
        for k, tapes in better.items():
            found[k] = tapes
    whole = [tapes for tapes in found if tapes is not None]
    if len(whole) < len(found):
        raise too_flat()
    return tuple(whole)


def _taped_from_stakes(
    known: Sequence[Known], spots: Sequence[Spot], found: Sequence[Tapes | None], obstacles: BaseGeometry
) -> dict[int, Tapes]:
    """Better tapes, by the stake's number, from stakes that are placed well already."""
    dilutions = {spot.name: tapes.dilution for spot, tapes in zip(spots, found, strict=True) if _clear(tapes)}
    anchors = [Known(spot.name, spot.at, STAKE) for spot, tapes in zip(spots, found, strict=True) if _firm(tapes)]
    left = np.flatnonzero([not _clear(tapes) for tapes in found]).tolist()
    if not left:
        return {}
    more = best_tapes([*known, *anchors], np.array([spots[k].at for k in left]), obstacles)
    return {k: _added(new, dilutions) for k, new in zip(left, more, strict=True) if _better(new, found[k])}


def _clear(tapes: Tapes | None) -> TypeGuard[Tapes]:
    """Whether a stake is placed by tapes that nothing crosses."""
    return tapes is not None and tapes.clear


def _firm(tapes: Tapes | None) -> bool:
    return _clear(tapes) and tapes.dilution <= POOR


def _better(new: Tapes | None, old: Tapes | None) -> TypeGuard[Tapes]:
    return new is not None and (old is None or (new.clear and not old.clear))


def _added(tapes: Tapes, dilutions: Mapping[str, float]) -> Tapes:
    """The tapes with the error of the stakes that they start from propagated into their dilution of precision.

    A stake taped from stakes of dilution w moves by at most its own dilution times |e|, where e holds the slips of both
    tapes and how far both starts have moved: at most 1 + sqrt(2) w times the slips alone.
    """
    before = max(dilutions.get(point.name, 0.0) if point.rank == STAKE else 0.0 for point in (tapes.start, tapes.end))
    return replace(tapes, dilution=tapes.dilution * (1.0 + math.sqrt(2.0) * before))
