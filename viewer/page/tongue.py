"""The language in which a page is set: every text is said again before it is measured, broken into lines or set."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar

from terrain.languages import Retold

_SPOKEN: ContextVar[Retold | None] = ContextVar("spoken", default=None)


@contextmanager
def spoken(words: Retold) -> Iterator[None]:
    """Set every page in a language until the block ends."""
    token = _SPOKEN.set(words)
    try:
        yield
    finally:
        _SPOKEN.reset(token)


def spoken_code() -> str:
    """The code of the language of the page, as "en"."""
    words = _SPOKEN.get()
    return "en" if words is None else words.language.code


def as_spoken(text: str) -> str:
    """A text in the language of the page; what was said again already stays as it is."""
    words = _SPOKEN.get()
    return text if words is None else words.told(text)


def as_lines(lines: list[str]) -> list[str]:
    """The lines of a text that is in the language of the page already: they are not said again when they are set."""
    words = _SPOKEN.get()
    if words is not None:
        words.keep(lines)
    return lines
