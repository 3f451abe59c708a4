"""A message of a page opened, however odd it is: an object that asks for something there is."""

from __future__ import annotations

import json
from collections.abc import Collection, Mapping
from typing import Any

from terrain.errors import InputError

MOST_SEQ = 2**53  # the largest whole number that a page counts exactly


def open_message(text: str | None, known: Collection[str]) -> tuple[str, Mapping[str, Any]]:
    """What a message asks for, one of `known`, and all that it says.

    Raises
    ------
    InputError
        Where it cannot be read or asks for nothing that there is.
    """
    try:
        message = json.loads(text or "")
    except (ValueError, RecursionError):
        raise InputError("The page", "sent something that cannot be read.") from None
    if not isinstance(message, Mapping):
        raise InputError("The page", "sent no message.")
    what = message.get("do")
    if not isinstance(what, str) or what not in known:
        raise InputError("The page", f"asked for {ascii(what)[:40]}, which is nothing here.")
    return what, message


def whole(value: object) -> int:
    """A whole number that a page counts exactly; 0 for anything else."""
    return value if isinstance(value, int) and not isinstance(value, bool) and 0 <= value <= MOST_SEQ else 0
