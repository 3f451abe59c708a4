"""The text of a site file as plain tables, lists, texts and numbers."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from typing import Any

from terrain.errors import InputError
from terrain.survey import plain_values

_MOST_DOTS = 16  # in one dotted key; the time that a parser takes grows with their square
_OF_A_KEY = re.compile(r"[^\w\-.\"' \t]+")
_DOT = re.compile(r"[\w\"'\-][ \t]*\.")
_LONGEST = 80  # characters of a line that a message repeats


def fields_of(text: str, label: str, quoted: bool = True) -> Mapping[str, Any]:
    """The fields of a TOML text, in plain signs.

    Raises
    ------
    InputError
        With the line of a fault, and its words where the text may be `quoted`.
    """
    for row, line in enumerate(text.splitlines(), start=1):
        if any(len(_DOT.findall(part)) > _MOST_DOTS for part in _OF_A_KEY.split(line)):
            raise InputError(f"{label} line {row}", f"a key has more than {_MOST_DOTS} dots.", "Write tables.")
    try:
        fields = plain_values(tomllib.loads(text), label)
    except tomllib.TOMLDecodeError as error:
        raise _fault(str(error), text, label, quoted) from None
    except RecursionError:
        raise InputError(label, "lists or tables stand in each other without end.", "Write it flat.") from None
    except ValueError:  # Python reads no whole number of thousands of digits
        raise InputError(label, "a number has thousands of digits.", "Write a figure that people can read.") from None
    assert isinstance(fields, Mapping)
    return fields


def _fault(message: str, text: str, label: str, quoted: bool) -> InputError:
    place = re.search(r" \(at line (\d+), column (\d+)\)$", message)
    problem = message[: place.start()] if place else re.sub(r" \(.*\)$", " at the end", message)
    row = int(place[1]) if place else len(text.splitlines())
    line = "".join(text.splitlines()[row - 1 : row]).strip()
    shown = f", in '{line[:_LONGEST]}{'...' if len(line) > _LONGEST else ''}'" if quoted else ""
    once = "twice" in problem or "overwrite" in problem
    return InputError(
        f"{label} line {row}",
        f"this is not valid TOML: {problem[:1].lower()}{problem[1:]}{shown}.",
        "Each table and each key is written once." if once else 'Texts stand in quotes, such as toe = "2 ft".',
    )
