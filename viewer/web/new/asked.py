"""What the page of a new yard asks for: its messages read, however odd they are."""

from __future__ import annotations

from dataclasses import dataclass

from terrain.errors import InputError
from viewer.web.live.message import open_message, whole

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
    what, message = open_message(text, (*EDITS, *DEEDS))
    key, typed = (message.get(name, "") for name in ("key", "text"))
    if not isinstance(key, str) or not isinstance(typed, str):
        raise InputError("The page", "sent a text that is none.")
    seq, row = (whole(message.get(name)) for name in ("seq", "row"))
    return Edit(what, seq, key, row, typed)
