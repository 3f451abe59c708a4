"""The talk with the page of a new yard: what is typed in, what it comes to out.

What is asked is done in the order in which it was asked. Each change is answered at once by how it was understood, or
refused in words that name the question and the row; the figures follow as soon as the flow has worked the newest state.
"""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Mapping
from concurrent.futures import Executor
from contextlib import suppress
from functools import partial
from typing import TYPE_CHECKING, TypeVar

from terrain.errors import HummockError, InputError, OutputError
from terrain.interview import EntryError
from viewer.web.live.desk import Hands
from viewer.web.live.frames import plain_text
from viewer.web.new.asked import REDO, SAVE, TAPE, UNDO, Edit, read_edit
from viewer.web.new.session import NewYard

if TYPE_CHECKING:
    from starlette.websockets import WebSocket

Answer = TypeVar("Answer")
REST = 0.1  # seconds without a change before the figures are begun
_ROWS = {"bed": "corner", "shots": "shot", "trees": "tree"}


class YardTalk:
    """One page that types a yard."""

    def __init__(self, yard: NewYard, socket: WebSocket, hands: Hands) -> None:
        self.yard, self.socket, self.hands = yard, socket, hands
        self.changed = asyncio.Event()
        self.seq = 0

    async def run(self) -> None:
        """Talk until the page goes away."""
        from starlette.websockets import WebSocketDisconnect

        working = asyncio.create_task(self._work_all())
        try:
            await self._say({"say": "hello", "text": self.yard.opening_words(), **self.yard.state()})
            self.changed.set()
            while (message := await self.socket.receive())["type"] == "websocket.receive":
                await self._hear(message.get("text"))
        except WebSocketDisconnect:
            pass  # it went away while something was being sent; what was typed is kept
        finally:
            working.cancel()
            with suppress(asyncio.CancelledError, WebSocketDisconnect):
                await working

    async def _hear(self, text: str | None) -> None:
        """Do one thing that is asked, or say in words why not."""
        asked = Edit("")
        try:
            asked = read_edit(text)
            await self._do(asked)
        except EntryError as error:
            here = error.key == asked.key and asked.row in (0, error.row)
            where = "" if here else f"{_ROWS.get(error.key, error.key)} {error.row}: "
            await self._refuse(where + error.without_where, asked)
        except InputError as error:
            await self._refuse(error.without_where, asked)
        except HummockError as error:
            await self._refuse(str(error), asked)

    async def _do(self, asked: Edit) -> None:
        yard = self.yard
        if asked.what == TAPE:
            await self._say({"say": "taped", "seq": asked.seq, "metres": yard.taped(asked.text)})
            return
        if asked.what == SAVE:
            words = await self._in(self.hands.files, yard.save)
            await self._say({"say": "done", "text": words, "next": yard.next_command})
        elif asked.what in (UNDO, REDO):
            yard.go(yard.history.undone() if asked.what == UNDO else yard.history.redone())
        else:
            await self._in(self.hands.files, partial(yard.edit, asked))
        await self._keep_safe(asked)
        self.seq = asked.seq
        await self._say({"say": "state", "seq": asked.seq, **yard.state()})
        self.changed.set()

    async def _keep_safe(self, asked: Edit) -> None:
        try:
            await self._in(self.hands.files, self.yard.keep_draft)
        except (OSError, OutputError) as error:
            await self._refuse(f"What is typed cannot be kept in {self.yard.folder} ({error}): save soon.", asked)

    async def _work_all(self) -> None:
        """Work the newest state, again and again as it changes."""
        while True:
            await self.changed.wait()
            self.changed.clear()
            await asyncio.sleep(REST)
            answers = self.yard.worked
            if self.changed.is_set() or answers is None:
                continue
            try:
                frames = await self._in(self.hands.slow, partial(self.yard.figures, answers, self.seq))
            except HummockError as error:
                await self._say(
                    {"say": "unworked", "text": error.without_where if isinstance(error, InputError) else str(error)}
                )
                continue
            for frame in () if self.changed.is_set() else frames:
                await self.socket.send_bytes(frame)

    async def _in(self, hand: Executor, work: Callable[[], Answer]) -> Answer:
        return await asyncio.get_running_loop().run_in_executor(hand, work)

    async def _refuse(self, words: str, asked: Edit) -> None:
        await self._say({"say": "refused", "text": words, "key": asked.key, "row": asked.row, "seq": asked.seq})

    async def _say(self, message: Mapping[str, object]) -> None:
        await self.socket.send_text(plain_text(message))
