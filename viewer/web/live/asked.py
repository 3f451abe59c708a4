"""What a page asks for: its messages read, and the line in which they wait, short whatever a page sends."""

from __future__ import annotations

import asyncio
from collections import deque
from collections.abc import Callable, Coroutine
from dataclasses import dataclass

from terrain.errors import InputError
from viewer.web.live.message import open_message, whole

MOVING, LET_GO = "shape", "settle"  # wishes
DEEDS = ("undo", "redo", "keep", "forget", "save", "plan", "mark")
MOST_WAITING = 20
Work = Callable[[], Coroutine[object, object, None]]


@dataclass(frozen=True)
class PageMessage:
    """One thing asked: a wish as the page sent it, for a moving hand or one that let go, or a deed; with its number.

    `mark` is a mark in the photograph as the page sent it.
    """

    what: str
    seq: int = 0
    wish: object = None
    mark: object = None


def read_message(text: str | None) -> PageMessage:
    """What a message asks for.

    Raises
    ------
    InputError
        Where it cannot be read or asks for nothing that there is.
    """
    what, message = open_message(text, (MOVING, LET_GO, *DEEDS))
    return PageMessage(what, whole(message.get("seq")), message.get("wish"), message.get("mark"))


class Queue:
    """What waits to be done, in the order asked. Of the wishes of a moving hand only the newest waits."""

    def __init__(self) -> None:
        self.waiting: deque[PageMessage | Work] = deque()
        self.some = asyncio.Event()
        self.newest = 0

    @property
    def overtakes(self) -> bool:
        """Whether anything waits."""
        return bool(self.waiting)

    def ask(self, asked: PageMessage) -> None:
        """Put at the end what a page asks for.

        Raises
        ------
        InputError
            Where too much waits already.
        """
        if asked.what in (MOVING, LET_GO):
            self._drop_last(MOVING)
        if asked.what == LET_GO and len(self.waiting) > MOST_WAITING // 2:
            self._drop_last(LET_GO)  # steps are kept, but no hand lets go ten times while one shape is worked out
        if len(self.waiting) >= MOST_WAITING:
            raise InputError("The page", "asked for more than can be done at once.", "Wait a moment, then ask again.")
        self.newest = max(self.newest, asked.seq)
        self._put(asked)

    def _drop_last(self, what: str) -> None:
        last = self.waiting[-1] if self.waiting else None
        if isinstance(last, PageMessage) and last.what == what:
            self.waiting.pop()

    def then(self, work: Work) -> None:
        """Put at the end what follows from something done."""
        self._put(work)

    def _put(self, one: PageMessage | Work) -> None:
        self.waiting.append(one)
        self.some.set()

    async def next(self) -> PageMessage | Work:
        """The first in the line, as soon as there is one."""
        while not self.waiting:
            self.some.clear()
            await self.some.wait()
        return self.waiting.popleft()
