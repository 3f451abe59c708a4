"""What the page of a new yard asks for: its messages read, however odd they are."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass

from terrain.errors import InputError
from viewer.web.live.asked import MOST_SEQ

SET, ADD, CHANGE, DROP = EDITS = ("set", "add", "change", "drop")
UNDO, REDO, SAVE, TAPE = DEEDS = ("undo", "redo", "save", "tape")


@dataclass(frozen=True)
class Edit:
    """One thing asked: a change of a question's texts, or a deed; rows count from 1, and 0 is all of them."""

    what: str
    seq: int = 0
    key: str = ""
    row: int = 0
    text: str = ""


def read_edit(text: str | None) -> Edit:
    """What a message asks for.

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
    what, key, typed = (message.get(name, "") for name in ("do", "key", "text"))
    if what not in (*EDITS, *DEEDS):
        raise InputError("The page", f"asked for {ascii(what)[:40]}, which is nothing here.")
    if not isinstance(key, str) or not isinstance(typed, str):
        raise InputError("The page", "sent a text that is none.")
    seq, row = (_whole(message.get(name)) for name in ("seq", "row"))
    return Edit(what, seq, key, row, typed)


def _whole(value: object) -> int:
    """A whole number that a page counts exactly; 0 for anything else."""
    return value if isinstance(value, int) and not isinstance(value, bool) and 0 <= value <= MOST_SEQ else 0
