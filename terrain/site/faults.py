"""A fault that the validation of a site found, as one message of our own."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from terrain.errors import InputError
from terrain.site.keys import EXAMPLES, LISTS, TABLES
from terrain.site.written import entry_words
from terrain.units import as_written

if TYPE_CHECKING:
    from pydantic_core import ErrorDetails

Fields = Mapping[str, Any]
_NUMBERED = ("drops", "pools", "pump")  # lists whose entries go by their number alone


def in_words(fault: ErrorDetails, fields: Fields, label: str, table: str = "") -> InputError:
    """A validation fault in words.

    Parameters
    ----------
    fault
        As pydantic reports it.
    fields
        The fields that were validated; they name the entries of lists.
    label
        Opens the message.
    table
        The table whose keys were validated alone; empty for a whole site.
    """
    path, value, kind = tuple(filter(None, (table,))) + fault["loc"], fault["input"], fault["type"]
    where = f"{label} {_key_words(path, fields)}"
    key = str(path[-1])
    if kind == "site":
        inside: InputError = fault["ctx"]["fault"]
        return inside if inside.where else InputError(where, inside.problem, inside.accepted)
    if kind == "missing":
        return InputError(where, "this is missing.", f"Add {EXAMPLES.get(key, key)}.")
    if kind == "tuple_type" and key in LISTS:
        return InputError(where, f"{as_written(value)} is not a list of tables.", f"Write [[{key}]] above each one.")
    if kind == "tuple_type":
        return InputError(where, f"{as_written(value)} is not a list.", f"Accepted: {EXAMPLES.get(key, 'a list')}.")
    if kind == "dataclass_type" and key in TABLES:
        return InputError(where, f"{as_written(value)} is not a table.", f"Write its keys under a line [{key}], once.")
    return InputError(
        where, f"{as_written(value)} is not accepted here.", f"Accepted: {EXAMPLES[key]}." if key in EXAMPLES else ""
    )


def _key_words(path: tuple[int | str, ...], fields: Fields) -> str:
    """A key as a person finds it: `[[tree]] 2 "bur oak" trunk`, `[berm] crest point 1`, `name`."""
    table, *rest = path
    if table in LISTS and rest and isinstance(rest[0], int):
        number = rest.pop(0)
        words = [entry_words(str(table), int(number) + 1, fields[str(table)][number])]
    elif table in LISTS:
        words = [f"[[{table}]]"]
    else:
        words = [f"[{table}]" if table in TABLES else str(table)]
    for before, step in zip((table, *rest), rest, strict=False):
        words.append(step if isinstance(step, str) else f"{'' if before in _NUMBERED else 'point '}{step + 1}")
    return " ".join(words)
