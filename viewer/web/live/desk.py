"""The talk with one page: its messages in, shapes and words out; the newest wish first, older ones dropped."""

from __future__ import annotations

import asyncio
import json
from collections.abc import Callable, Coroutine, Mapping
from concurrent.futures import Executor
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING, TypeVar

from terrain.errors import HummockError, InputError
from viewer.web.live.frames import Plain
from viewer.web.live.history import History
from viewer.web.live.session import Session
from viewer.web.live.wish import Wish

if TYPE_CHECKING:
    from starlette.websockets import WebSocket

Answer = TypeVar("Answer")
REST = 0.25  # seconds without a new wish before the whole study is begun


@dataclass(frozen=True)
class Job:
    """A wish to shape, the page's number for it, and whether the hand rests, so that the whole study is wanted."""

    wish: Wish
    seq: int
    rest: bool


@dataclass(frozen=True)
class Hands:
    """One thread each for what a moving hand waits for, for what may take a while, and for the site's own files."""

    quick: Executor
    slow: Executor
    files: Executor


class Writer:
    """One page that may change the berm."""

    def __init__(self, session: Session, socket: WebSocket, hands: Hands) -> None:
        self.session, self.socket, self.hands = session, socket, hands
        self.newest: Job | None = None
        self.asked = asyncio.Event()
        self.tasks: set[asyncio.Task[None]] = set()

    async def run(self) -> None:
        """Talk until the page goes away."""
        from starlette.websockets import WebSocketDisconnect

        shaping = asyncio.create_task(self._shape_newest())
        try:
            await self._greet()
            while (message := await self.socket.receive())["type"] == "websocket.receive":
                await self._hear(message.get("text") or "")
        except WebSocketDisconnect:
            pass  # it went away while something was being sent; what it did is kept
        finally:
            for task in (shaping, *self.tasks):
                task.cancel()
            await asyncio.gather(shaping, *self.tasks, return_exceptions=True)

    async def _greet(self) -> None:
        for ground in self.session.grounds():
            await self.socket.send_bytes(ground)
        await self._say({"say": "hello", "text": self.session.opening_words(), **self.session.state()})
        kept = self.session.history.kept
        if kept is not None:
            frame, _ = await self._in(self.hands.quick, lambda: self.session.quick(kept, 0, "kept"))
            await self.socket.send_bytes(frame)
        self._ask(Job(self.session.history.now, 0, rest=True))

    async def _hear(self, text: str) -> None:
        """Take one message; one that makes no sense is answered in words and changes nothing."""
        try:
            message = json.loads(text)
            if not isinstance(message, Mapping):
                raise InputError("The page", "sent no message.")
            await self._do(message)
        except (ValueError, RecursionError):
            await self._say({"say": "refused", "text": "The page sent something that cannot be read."})
        except HummockError as error:
            await self._say({"say": "refused", "text": str(error)})

    async def _do(self, message: Mapping[str, object]) -> None:
        what, seq = message.get("do"), message.get("seq")
        number = seq if isinstance(seq, int) and not isinstance(seq, bool) else 0
        if what in ("shape", "settle"):
            wish = self.session.read(message.get("wish"))
            self._ask(Job(wish, number, rest=what == "settle"))
            if what == "settle":
                await self._step(self.session.history.changed(wish), tell_wish=False)
        elif what in ("undo", "redo"):
            history = self.session.history
            await self._step(history.undone() if what == "undo" else history.redone())
            self._ask(Job(self.session.history.now, number, rest=True))
        elif what in ("keep", "forget"):
            await self._step(self.session.history.keeping(self.session.history.now if what == "keep" else None))
        elif what in ("save", "plan"):
            hand, work = (
                (self.hands.files, self.session.save) if what == "save" else (self.hands.slow, self.session.plan)
            )
            self._later(self._write(hand, work))
        else:
            raise InputError("The page", f"asked for {str(what)[:40]!r}, which is nothing here.")

    async def _step(self, history: History, tell_wish: bool = True) -> None:
        """Take a step, keep it safe, and tell the page where it stands."""
        try:
            await self._in(self.hands.files, lambda: self.session.step(history))
        except OSError as error:
            await self._say({"say": "refused", "text": self.session.draft_trouble(error)})
        state = self.session.state()
        if not tell_wish:
            del state["wish"]
        await self._say({"say": "state", **state})

    async def _write(self, hand: Executor, work: Callable[[], str]) -> None:
        """Save or write the plan set, and say how it went."""
        try:
            words = await self._in(hand, work)
        except HummockError as error:
            await self._say({"say": "refused", "text": str(error)})
            return
        await self._say({"say": "done", "text": words})
        state = self.session.state()
        del state["wish"]
        await self._say({"say": "state", **state})

    def _ask(self, job: Job) -> None:
        self.newest = job
        self.asked.set()

    async def _shape_newest(self) -> None:
        """Shape the newest wish, again and again; a wish that was overtaken is never shaped."""
        while True:
            await self.asked.wait()
            self.asked.clear()
            job = self.newest
            assert job is not None
            try:
                frame, look = await self._in(self.hands.quick, partial(self.session.quick, job.wish, job.seq))
                await self.socket.send_bytes(frame)
                if job is self.newest:
                    await self._say(await self._in(self.hands.quick, look))
            except HummockError as error:
                await self._say({"say": "refused", "seq": job.seq, "text": str(error)})
                continue
            if job.rest:
                self._later(self._study(job))

    async def _study(self, job: Job) -> None:
        """The whole study of a wish that still stands, once the hand has rested a moment."""
        await asyncio.sleep(REST)
        if job is not self.newest:
            return
        try:
            frame = await self._in(self.hands.slow, partial(self.session.full, job.wish, job.seq))
        except HummockError as error:
            await self._say({"say": "refused", "seq": job.seq, "text": str(error)})
            return
        if job is self.newest:
            await self.socket.send_bytes(frame)

    def _later(self, work: Coroutine[object, object, None]) -> None:
        task = asyncio.create_task(work)
        self.tasks.add(task)
        task.add_done_callback(self.tasks.discard)

    async def _in(self, hand: Executor, work: Callable[[], Answer]) -> Answer:
        return await asyncio.get_running_loop().run_in_executor(hand, work)

    async def _say(self, message: Plain) -> None:
        await self.socket.send_text(json.dumps(message, ensure_ascii=False, allow_nan=False))
