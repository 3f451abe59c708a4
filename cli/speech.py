"""What is said reaches every terminal and pipe: any name prints on any code page, and a reader may go away."""

from __future__ import annotations

import codecs
import io
import os
import sys
import unicodedata
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TextIO

_HANDLER = "hummock.nearest"
# Marks of our own texts and letters of Europe that do not come apart into a plain letter and its accent.
_NEAREST = {
    **{"–": "-", "—": "-", "−": "-", "‘": "'", "’": "'", "“": '"', "”": '"', "…": "...", "·": "*", "•": "*"},
    **{"×": "x", "→": "->", "½": "1/2", "¼": "1/4", "¾": "3/4", "ł": "l", "Ł": "L", "ø": "o", "Ø": "O", "đ": "d"},
    **{"Đ": "D", "ı": "i", "ß": "ss", "æ": "ae", "Æ": "AE", "œ": "oe", "Œ": "OE", "þ": "th", "ð": "d"},
}


def _nearest(error: UnicodeError) -> tuple[str, int]:
    """Plain letters in place of those that a code page lacks, "?" where there is nothing near."""
    if not isinstance(error, UnicodeEncodeError):
        raise error
    return "".join(_plain(mark) for mark in error.object[error.start : error.end]), error.end


def _plain(mark: str) -> str:
    apart = unicodedata.normalize("NFKD", mark).encode("ascii", "ignore").decode("ascii")
    return _NEAREST.get(mark) or apart or "?"


@contextmanager
def any_name_prints() -> Iterator[None]:
    """Let both streams say every text, whatever code page they have, until the block ends."""
    codecs.register_error(_HANDLER, _nearest)
    streams = [stream for stream in (sys.stdout, sys.stderr) if isinstance(stream, io.TextIOWrapper)]
    before = [stream.errors for stream in streams]
    for stream in streams:
        stream.reconfigure(errors=_HANDLER)
    try:
        yield
    finally:
        for stream, errors in zip(streams, before, strict=True):
            stream.reconfigure(errors=errors)


def holds_any_letter(stream: TextIO) -> bool:
    """Tell whether a stream is in an encoding that has every letter."""
    try:
        return codecs.lookup(stream.encoding or "").name.startswith("utf")
    except LookupError:
        return False


def hush(stream: TextIO) -> None:
    """Lead a stream whose reader went away (`| head`) to nowhere, so that the interpreter's last flush is quiet."""
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, stream.fileno())
    os.close(nowhere)
