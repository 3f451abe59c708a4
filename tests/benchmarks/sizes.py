"""How large a benchmark is: in full by hand, small (`--small`) in CI, which asks whether all of it still runs."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeVar

Choice = TypeVar("Choice")
ROOM = 10.0  # times as much as in full: of a small job much is what starts it, and other programs count more


@dataclass(frozen=True)
class Size:
    """Full or small. A small job has to keep the order of magnitude of its times; few surveys have their own bounds."""

    small: bool

    def of(self, full: Choice, small: Choice) -> Choice:
        """The one that this size takes."""
        return small if self.small else full

    def most(self, bound: float) -> float:
        """A bound on a time or on a ratio of times, with room at a small size."""
        return ROOM * bound if self.small else bound
