"""What a value of a site may be, by the way it is written: every part of a site checks itself when it is made."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import fields
from functools import cache
from typing import Any, get_args, get_origin, get_type_hints

from shapely.geometry import Polygon

from terrain.errors import InputError
from terrain.expect import expect_number, is_list
from terrain.limits import (
    ACCURACY_MOST,
    AREA_RATE_MOST,
    BAG,
    BARROW,
    FASTEST_INTAKE,
    FITTINGS_MOST,
    HIGHEST_CREST,
    HIGHEST_DROP,
    LARGEST_LOSS,
    LONGEST_STORM,
    LOOSE_WEIGHTS,
    MOST_FLOW,
    MOST_RAIN,
    PRICE_MOST,
    ROUGHNESS,
    SLOPE_LEAST,
    SOLD_IN_MOST,
    STEEPEST_DIG,
    THICKEST_LAYER,
    THICKEST_TRUNK,
    TRUCK,
    VOIDS,
    VOLUME_RATE_MOST,
)
from terrain.site.written import WrittenAs
from terrain.units import STEEPEST_SLOPE

KG_PER_TONNE = 1000.0
_UPWARD = (0.0, math.inf)

# Least and largest value of each kind of number, in SI units.
RANGES: Mapping[str, tuple[float, float]] = {
    "length": (-math.inf, math.inf),
    "crest height": (0.0, HIGHEST_CREST.value),
    "rain": (0.0, MOST_RAIN.value),
    "hours": (0.0, LONGEST_STORM.value),
    "intake": (0.0, FASTEST_INTAKE.value),
    "drop height": (0.0, HIGHEST_DROP.value),
    "flow": (0.0, MOST_FLOW.value),
    "roughness": (ROUGHNESS[0].value, ROUGHNESS[1].value),
    "fittings": (0.0, FITTINGS_MOST.value),
    "voids": (VOIDS[0].value, 1.0),
    "volume an hour": (0.0, VOLUME_RATE_MOST.value),
    "area an hour": (0.0, AREA_RATE_MOST.value),
    "accuracy": (0.0, ACCURACY_MOST.value),
    "truck": (TRUCK[0].value, TRUCK[1].value),
    "barrow": (BARROW[0].value, BARROW[1].value),
    "bag": (BAG[0].value, BAG[1].value),
    "sold in": (0.0, SOLD_IN_MOST.value),
    **dict.fromkeys(("price", "money"), (0.0, PRICE_MOST.value)),
    "price by area": (0.0, PRICE_MOST.value),
    "price by weight": (0.0, PRICE_MOST.value / KG_PER_TONNE),
    "layer": (0.0, THICKEST_LAYER.value),
    "trunk": (0.0, THICKEST_TRUNK.value),
    "girth": (0.0, math.pi * THICKEST_TRUNK.value),
    "stems": (0.0, THICKEST_TRUNK.value),
    "loss": (0.0, LARGEST_LOSS.value),
    "unit weight": (LOOSE_WEIGHTS[0].value, LOOSE_WEIGHTS[1].value),
    "weight spread": (0.0, LOOSE_WEIGHTS[1].value),
    "slope": (SLOPE_LEAST.value, STEEPEST_SLOPE),
    "dig slope": (SLOPE_LEAST.value, STEEPEST_DIG.value),
    "share": (0.0, 1.0),
    "whole share": (0.0, 1.0),
    "chance": (0.0, 1.0),
    "count": (1, math.inf),
    "point": (-math.inf, math.inf),
    "line": (-math.inf, math.inf),
    "thing line": (-math.inf, math.inf),
    **dict.fromkeys(("size", "width", "span", "volume", "weight", "time"), _UPWARD),
}

_SEVERAL = frozenset(
    ("point", "line", "thing line", "stems", "span")
)  # ways of writing that may hold more than one number


class Checked:
    """A part of a site: `InputError`, naming part and field, where a value is not finite or out of its range."""

    def __post_init__(self) -> None:
        part: Any = type(self)
        for name, kind in _kinds(part).items():
            value = getattr(self, name)
            if value is None and name in _optional(part):
                continue
            where = f"{part.__name__.lower()} {name}"
            if kind in RANGES:
                _expect_as_many(where, value, kind)
                for figure in _numbers(value):
                    expect_number(where, figure, *RANGES[kind])
            elif kind == "outline":
                _expect_outline(where, value)
            elif kind == "text" and not isinstance(value, str):
                raise InputError(where, f"a {type(value).__name__} arrived.", "Accepted: a text.")
        for name, kind in _entries(part).items():
            _expect_entries(f"{part.__name__.lower()} {name}", getattr(self, name), kind)


@cache
def _optional(part: Any) -> frozenset[str]:
    """The fields that may be None."""
    return frozenset(name for name, hint in get_type_hints(part).items() if type(None) in get_args(hint))


@cache
def _entries(part: Any) -> dict[str, Any]:
    """The part that each entry of a field is, for fields that hold several."""
    hints = {name: get_args(hint) for name, hint in get_type_hints(part).items() if get_origin(hint) is tuple}
    return {
        name: kinds[0] for name, kinds in hints.items() if isinstance(kinds[0], type) and issubclass(kinds[0], Checked)
    }


@cache
def _kinds(part: Any) -> dict[str, str]:
    """The way each field of a part is written, by its name."""
    hints = get_type_hints(part, include_extras=True)
    found = {field.name: _written(hints[field.name]) for field in fields(part)}
    return {name: kind for name, kind in found.items() if kind}


def _written(hint: Any) -> str:
    """The way of writing that a type hint names, also inside an optional one; "" where it names none."""
    marks = [part.kind for part in getattr(hint, "__metadata__", ()) if isinstance(part, WrittenAs)]
    inner = () if marks else get_args(hint)
    return marks[0] if marks else next((kind for part in inner if (kind := _written(part))), "")


def _numbers(value: object) -> Iterator[object]:
    """All values in nested tuples, or the value itself."""
    if is_list(value):
        for part in value:
            yield from _numbers(part)
    else:
        yield value


def _expect_as_many(where: str, value: object, kind: str) -> None:
    """A place is two numbers, a line is places, and most figures are one number."""
    if kind == "point" and not (is_list(value) and list(map(is_list, value)) == [False, False]):
        raise InputError(where, f"{value!r} is no place.", "Accepted: two numbers, x and y.")
    if is_list(value) and kind not in _SEVERAL:
        raise InputError(where, f"{value!r} is not a finite number.", "Accepted: a finite number in SI units.")


def _expect_entries(where: str, value: object, kind: type) -> None:
    several = is_list(value)
    for one in value if is_list(value) else (value,):
        if not several or not isinstance(one, kind):
            raise InputError(where, f"a {type(one).__name__} arrived.", f"Accepted: a tuple of {kind.__name__}.")


def _expect_outline(where: str, value: object) -> None:
    if not isinstance(value, Polygon):
        raise InputError(where, f"a {type(value).__name__} arrived.", "Accepted: a shapely Polygon in metres.")
    if not (value.is_valid and value.area > 0.0):
        problem = "it encloses no ground" if value.is_valid else "it crosses itself or holds no numbers"
        raise InputError(where, f"{problem}.", "Accepted: a valid polygon in metres.")
