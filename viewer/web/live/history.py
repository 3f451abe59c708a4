"""Wishes one after the other, to go back and forth in."""

from __future__ import annotations

from dataclasses import dataclass, replace

from viewer.web.live.wish import Wish

MOST = 500  # steps kept


@dataclass(frozen=True)
class History:
    """What was, what is and what was taken back; and a version kept to compare with, if any."""

    now: Wish
    past: tuple[Wish, ...] = ()
    future: tuple[Wish, ...] = ()
    kept: Wish | None = None

    def changed(self, wish: Wish) -> History:
        """With a new wish; the same wish again is no step."""
        if wish == self.now:
            return self
        return replace(self, now=wish, past=(*self.past, self.now)[-MOST:], future=())

    def undone(self) -> History:
        """One step back, where there is one."""
        if not self.past:
            return self
        return replace(self, now=self.past[-1], past=self.past[:-1], future=(self.now, *self.future))

    def redone(self) -> History:
        """One step forth, where one was taken back."""
        if not self.future:
            return self
        return replace(self, now=self.future[0], past=(*self.past, self.now), future=self.future[1:])

    def without(self, wish: Wish) -> History:
        """With a wish taken out of all steps; where it stood, the step before it does, or the one after."""
        past = tuple(one for one in self.past if one != wish)
        future = tuple(one for one in self.future if one != wish)
        kept = None if self.kept == wish else self.kept
        if self.now != wish:
            return replace(self, past=past, future=future, kept=kept)
        if past:
            return History(past[-1], past[:-1], future, kept)
        return History(future[0], past, future[1:], kept) if future else self

    def in_place_of(self, wish: Wish, other: Wish) -> History:
        """With another wish wherever a wish stands."""
        past, future = (tuple(other if one == wish else one for one in steps) for steps in (self.past, self.future))
        kept = other if self.kept == wish else self.kept
        return History(other if self.now == wish else self.now, past, future, kept)

    def keeping(self, wish: Wish | None) -> History:
        """With a version to compare with."""
        return replace(self, kept=wish)
