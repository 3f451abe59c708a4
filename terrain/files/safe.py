"""Text from people that goes into a table: it may be read, it may never run."""

from __future__ import annotations

# A spreadsheet takes a cell that begins so for a formula or a command, also when a saved table is opened again.
_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n", "|", "%")


def guarded(text: str) -> str:
    """The text, led by an apostrophe where a spreadsheet could take it for a formula; control marks become blanks."""
    plain = "".join(mark if mark.isprintable() else " " for mark in text)
    return f"'{plain}" if text.startswith(_STARTS) or plain.lstrip().startswith(_STARTS) else plain
