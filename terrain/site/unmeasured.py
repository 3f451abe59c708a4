"""A yard that nobody measured: its ground is taken as flat, and no shot of it stands in the site file."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
import shapely
from shapely.geometry import Polygon

from terrain.errors import InputError
from terrain.site.survey import FLAT
from terrain.survey import CODES

_ROUND_IT = 0.25  # of the bed's longer side: how far the flat ground goes on beyond it
_MEASURES = ("shots", "level_book", "ties", "offsets", "points", "breaklines", "leave_out", "scan")


def is_flat(survey: Mapping[str, object]) -> bool:
    """Whether a [survey] table says that nothing was measured."""
    surface = survey.get("surface")
    return isinstance(surface, str) and surface.strip().casefold() == FLAT


def refuse_measures(survey: Mapping[str, object], outline: object, where: str) -> None:
    """Refuse what cannot stand beside ground that nobody measured."""
    stated = next((key for key in _MEASURES if key in survey), None)
    if stated is not None:
        raise InputError(
            f"{where} surface", f'"{FLAT}" is for ground that nobody measured, and {stated} is given.', "Leave one out."
        )
    if isinstance(outline, str) and outline == CODES:
        raise InputError(f"{where} surface", "the bed outline cannot come from shots, there are none.", "Give corners.")


def flat_survey(outline: Polygon) -> dict[str, object]:
    """Fields of `Survey` for flat ground about a bed (metres): four corners at elevation zero that no rod stood on."""
    west, south, east, north = outline.bounds
    reach = _ROUND_IT * max(east - west, north - south)
    corners = shapely.get_coordinates(shapely.box(west - reach, south - reach, east + reach, north + reach))[:4]
    return {
        "shots": np.column_stack([corners, np.zeros(4)]),
        "names": tuple(f"flat {number}" for number in range(1, 5)),
        "codes": ("not measured: taken as flat",) * 4,
    }


def expect_measured(survey_is_measured: bool, what: Sequence[str]) -> None:
    """Refuse work that needs measured ground; `what` opens and ends the message."""
    if not survey_is_measured:
        where, needs = what
        raise InputError(where, f"nothing was measured, and {needs}.", "Measure it: 20 shots make a useful ground.")
