"""The errors of the library: each carries one message that a crew lead can act on."""

from __future__ import annotations

from terrain.plain import plain


class HummockError(Exception):
    """Root of every error that the library raises on purpose."""


class InputError(HummockError):
    """Input that cannot be worked with.

    The message names the file, the row or key, the value that arrived and what would be accepted. It is one line of
    plain signs, whatever the input holds.
    """

    def __init__(self, where: str, problem: str, accepted: str = "") -> None:
        self.where, self.problem, self.accepted = plain(where), plain(problem), plain(accepted)
        super().__init__(f"{self.where}: {self.problem}" + (f" {self.accepted}" if accepted else ""))


class OutputError(HummockError):
    """A result that cannot be written where it was asked for."""
