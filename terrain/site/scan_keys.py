"""The scan of a yard, as [survey] names it.

scan = { file = "yard.ply", marks = "marks.csv" }                # laid on the survey by marks
scan = { file = "yard.las" }                                     # lies on the survey's coordinates already
scan = { file = "yard.obj", unit = "ft", up = "y", drift = "1 in" }
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from terrain.errors import InputError
from terrain.units import as_written

_ACCEPTED = 'Accepted: such as { file = "yard.ply", marks = "marks.csv" }.'
_UNITS = {"m": 1.0, "ft": 0.3048, "in": 0.0254, "cm": 0.01, "mm": 0.001}
_WORDS: Mapping[str, tuple[str, tuple[str, ...]]] = {"unit": ("unit", tuple(_UNITS)), "up": ("upward axis", ("y", "z"))}
_KEYS = ("file", "marks", "unit", "up", "drift")
_LARGEST_DRIFT = 1.0  # metres


@dataclass(frozen=True)
class ScanKey:
    """A scan and its table of marks ("" for none), by their names; metres in its unit (0.0: to be found); its upward
    axis ("": to be found); the standard deviation of what near points of it share, metres (None: assumed).
    """

    file: str
    marks: str = ""
    unit: float = 0.0
    up: str = ""
    drift: float | None = None


def read_scan_key(value: Any, length: Callable[[Any], float]) -> ScanKey:
    """The key; `length` reads a length. Raises `InputError` without a `where`."""
    if not isinstance(value, Mapping) or not isinstance(value.get("file"), str) or not value["file"].strip():
        raise InputError("", f"{as_written(value)} is no scan.", _ACCEPTED)
    for key, given in value.items():
        if key not in _KEYS:
            raise InputError("", f"{as_written(key)} is no key of a scan.", f"Accepted: {', '.join(_KEYS)}.")
        _check(str(key), given)
    drift = None if "drift" not in value else length(value["drift"])
    if drift is not None and not 0.0 < drift <= _LARGEST_DRIFT:
        raise InputError("", f"{as_written(value['drift'])} is no drift of a scan.", "Accepted: above 0, up to 1 m.")
    unit = _UNITS[value["unit"]] if "unit" in value else 0.0
    return ScanKey(value["file"], value.get("marks", ""), unit, value.get("up", ""), drift)


def _check(key: str, given: Any) -> None:
    """Refuse a text that its key does not know."""
    for known, (noun, words) in _WORDS.items():
        if key == known and not (isinstance(given, str) and given in words):
            raise InputError("", f"{as_written(given)} is no {noun} of a scan.", f"Accepted: {', '.join(words)}.")
    if key == "marks" and not (isinstance(given, str) and given.strip()):
        raise InputError("", f"{as_written(given)} is no table of marks.", _ACCEPTED)
