"""The errors of the library: each carries one message that a crew lead can act on."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager

from terrain.plain import plain

_LONGEST = 1500  # signs of one part of a message: more is read by nobody


def _wording(text: str) -> str:
    text = plain(text)
    return text if len(text) <= _LONGEST else f"{text[:_LONGEST]}..."


class HummockError(Exception):
    """Root of every error that the library raises on purpose."""


class InputError(HummockError):
    """Input that cannot be worked with.

    The message names the file, the row or key, the value that arrived and what would be accepted. It is one line of
    plain signs, whatever the input holds.
    """

    def __init__(self, where: str, problem: str, accepted: str = "") -> None:
        self.where, self.problem, self.accepted = _wording(where), _wording(problem), _wording(accepted)
        super().__init__(f"{self.where}: {self.problem}" + (f" {self.accepted}" if accepted else ""))

    @property
    def without_where(self) -> str:
        """What is wrong and what would be accepted: told beside the place itself, which needs no name there."""
        return f"{self.problem} {self.accepted}".strip()


MOST_TOLD = 20  # faults that one message lists; the rest are counted


class InputErrors(InputError):  # noqa: N818
    """Several faults of one input, told at once: `MOST_TOLD` of them, each on its own line, and how many more."""

    def __init__(self, faults: Sequence[InputError]) -> None:
        self.faults = tuple(faults)
        first = self.faults[0]
        super().__init__(first.where, first.problem, first.accepted)
        lines = [str(fault) for fault in self.faults[:MOST_TOLD]]
        more = len(self.faults) - MOST_TOLD
        self.args = ("\n".join(lines + ([f"and {more:,} more."] if more > 0 else [])),)


class Faults:
    """Collects faults, so that one run tells of all of them.

    Work that may fail stands in a `with faults.kept():` block; `refuse()` raises what was found.
    """

    def __init__(self) -> None:
        self.found: list[InputError] = []

    @contextmanager
    def kept(self) -> Iterator[None]:
        """Take down an `InputError` of the block and go on behind it."""
        try:
            yield
        except InputErrors as several:
            self.found += several.faults
        except InputError as fault:
            self.found.append(fault)

    def refuse(self) -> None:
        """Raise what was found, each fault once: as it stands where it is one, else all in one `InputErrors`."""
        faults = list({str(fault): fault for fault in self.found}.values())
        if faults:
            raise faults[0] if len(faults) == 1 else InputErrors(faults)


class OutputError(HummockError):
    """A result that cannot be written where it was asked for."""
