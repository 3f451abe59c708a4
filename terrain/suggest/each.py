"""How one work is done on each of several things: one after the other here, or in whatever way the caller has."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Protocol, TypeVar

Thing = TypeVar("Thing")
Made = TypeVar("Made")


class OnEach(Protocol):
    """Does `work`, which changes nothing, on every thing, and answers what it makes of each in their order."""

    def __call__(self, work: Callable[[Thing], Made], things: Sequence[Thing]) -> list[Made]:
        """Do the work."""
        ...


def one_by_one(work: Callable[[Thing], Made], things: Sequence[Thing]) -> list[Made]:
    """The plain way."""
    return [work(thing) for thing in things]
