"""A word that must be one of several."""

from __future__ import annotations

from collections.abc import Sequence
from difflib import get_close_matches

from terrain.errors import InputError
from terrain.units import as_written


def one_of(word: str, value: object, names: Sequence[str], noun: str) -> str:
    """The word where it is one of the names; `InputError` shows `value` as it was written, and the nearest name."""
    if word not in names:
        near = get_close_matches(word, names, n=1)
        hint = f' Did you mean "{near[0]}"?' if near else ""
        raise InputError("", f"{as_written(value)} is no {noun}.{hint}", f"Accepted: {', '.join(names)}.")
    return word
