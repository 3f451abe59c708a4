"""Values of a nested file (TOML, JSON): as deep as anything here needs, every text and key in plain signs."""

from __future__ import annotations

from collections.abc import Mapping

from terrain.errors import InputError
from terrain.plain import plain

_DEEPEST = 32  # tables and lists in each other; a drawing of areas in collections has a third of it


def plain_values(value: object, where: str, deepest: int = _DEEPEST) -> object:
    """The same tables, lists, texts and numbers, in plain signs.

    Raises
    ------
    InputError
        Where tables and lists stand in each other more than `deepest` times, or two keys of a table differ by signs
        that nobody sees.
    """
    if isinstance(value, str):
        return plain(value)
    if not isinstance(value, Mapping | list):
        return value
    if not deepest:
        raise InputError(where, f"lists or tables stand in each other more than {_DEEPEST} deep.", "Write it flat.")
    if isinstance(value, list):
        return [part if isinstance(part, float) else plain_values(part, where, deepest - 1) for part in value]
    made = {plain(str(key)): plain_values(part, where, deepest - 1) for key, part in value.items()}
    if len(made) < len(value):
        raise InputError(where, "two keys of one table differ by signs that nobody sees.", "Keep one of them.")
    return made
