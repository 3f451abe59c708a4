"""Steps one after the other, to go back and forth in: wishes of a live page, entries of a new yard."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Generic, TypeVar

Step = TypeVar("Step")
MOST = 500  # steps kept


@dataclass(frozen=True)
class History(Generic[Step]):
    """What was, what is and what was taken back; and a version kept to compare with, if any."""

    now: Step
    past: tuple[Step, ...] = ()
    future: tuple[Step, ...] = ()
    kept: Step | None = None

    def changed(self, step: Step) -> History[Step]:
        """With a new step; the same again is no step."""
        if step == self.now:
            return self
        return replace(self, now=step, past=(*self.past, self.now)[-MOST:], future=())

    def undone(self) -> History[Step]:
        """One step back, where there is one."""
        if not self.past:
            return self
        return replace(self, now=self.past[-1], past=self.past[:-1], future=(self.now, *self.future))

    def redone(self) -> History[Step]:
        """One step forth, where one was taken back."""
        if not self.future:
            return self
        return replace(self, now=self.future[0], past=(*self.past, self.now), future=self.future[1:])

    def without(self, step: Step) -> History[Step]:
        """With one taken out of all steps; where it stood, the step before it does, or the one after."""
        past = tuple(one for one in self.past if one != step)
        future = tuple(one for one in self.future if one != step)
        kept = None if self.kept == step else self.kept
        if self.now != step:
            return replace(self, past=past, future=future, kept=kept)
        if past:
            return History(past[-1], past[:-1], future, kept)
        return History(future[0], past, future[1:], kept) if future else self

    def in_place_of(self, step: Step, other: Step) -> History[Step]:
        """With another wherever one stands."""
        past, future = (tuple(other if one == step else one for one in steps) for steps in (self.past, self.future))
        kept = other if self.kept == step else self.kept
        return History(other if self.now == step else self.now, past, future, kept)

    def keeping(self, step: Step | None) -> History[Step]:
        """With a version to compare with."""
        return replace(self, kept=step)
