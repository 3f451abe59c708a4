"""The talk with one page: its messages in, shapes and words out.

What a hand asks is done in the order in which it was asked. A wish that a newer one has overtaken is never shaped; one
that the hand let go of is taken as a step only once it has been shaped, and one that is refused leaves everything, on
the page too, as the last accepted one has it.
"""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Coroutine, Mapping, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING, TypeVar

from terrain.errors import HummockError, InputError
from viewer.web.live.asked import LET_GO, MOVING, PageMessage, Queue, read_message
from viewer.web.live.frames import plain_text
from viewer.web.live.history import History
from viewer.web.live.session import Session
from viewer.web.live.wish import Wish

if TYPE_CHECKING:
    from starlette.websockets import WebSocket

Answer = TypeVar("Answer")
REST = 0.25  # seconds without a new wish before the whole study is begun


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
        self.line = Queue()
        self.tasks: set[asyncio.Task[None]] = set()
        self.writing: set[str] = set()
        self.one_study = asyncio.Lock()

    async def run(self) -> None:
        """Talk until the page goes away."""
        from starlette.websockets import WebSocketDisconnect

        doing = asyncio.create_task(self._do_all())
        try:
            await self._greet()
            while (message := await self.socket.receive())["type"] == "websocket.receive":
                await self._hear(message.get("text"))
        except WebSocketDisconnect:
            pass  # it went away while something was being sent; what it did is kept
        finally:
            for task in (doing, *self.tasks):
                task.cancel()
            await asyncio.gather(doing, *self.tasks, return_exceptions=True)

    async def _greet(self) -> None:
        for ground in self.session.grounds():
            await self.socket.send_bytes(ground)
        await self._say({"say": "hello", "text": self.session.opening_words(), **self.session.state()})
        kept = self.session.history.kept
        if kept is not None:
            self._later(self._send_kept(kept))
        self.line.then(partial(self._show, 0))

    async def _hear(self, text: str | None) -> None:
        """Take one message; one that makes no sense is answered in words and changes nothing."""
        try:
            self.line.ask(read_message(text))
        except HummockError as error:
            await self._refuse(str(error))

    async def _do_all(self) -> None:
        """Do what is asked, one thing after the other."""
        while True:
            asked = await self.line.next()
            try:
                await (self._do(asked) if isinstance(asked, PageMessage) else asked())
            except HummockError as error:
                number = {"seq": asked.seq} if isinstance(asked, PageMessage) else {}
                await self._refuse(str(error), **number)

    async def _do(self, asked: PageMessage) -> None:
        history, seq = self.session.history, asked.seq
        if asked.what == MOVING:
            await self._shape(self.session.read(asked.wish), seq)
        elif asked.what == LET_GO:
            await self._settle(asked)
        elif asked.what in ("undo", "redo"):
            await self._stand(history.undone() if asked.what == "undo" else history.redone(), seq)
        elif asked.what in ("keep", "forget"):
            await self._step(history.keeping(history.now if asked.what == "keep" else None), seq)
            if asked.what == "keep":
                self._later(self._send_kept(history.now))
        elif asked.what == "mark":
            await self._in(self.hands.files, partial(self.session.mark, asked.mark))
            self._later(self._send_photo(history.now))
        elif asked.what not in self.writing:
            self._later(self._write(asked))

    async def _shape(self, wish: Wish, seq: int) -> None:
        """The quick shape of a wish, and of its look where no newer one waits."""
        frame, look = await self._in(self.hands.quick, partial(self.session.quick, wish, seq))
        await self.socket.send_bytes(frame)
        if not self.line.overtakes:
            await self._say(await self._in(self.hands.quick, look))

    async def _settle(self, asked: PageMessage) -> None:
        """Take a wish as a step once it has been shaped; refuse it as a whole where it cannot be."""
        try:
            wish = self.session.read(asked.wish)
            await self._shape_somehow(wish, asked.seq)
        except InputError as error:
            await self._take_back(str(error), asked.seq)
            return
        await self._step(self.session.history.changed(wish), asked.seq)
        self._later(self._study(wish, asked.seq))

    async def _shape_somehow(self, wish: Wish, seq: int) -> None:
        """Shape a wish quickly, or in full where only the coarse grid has no room for it."""
        try:
            await self._shape(wish, seq)
        except InputError:
            await self._in(self.hands.slow, partial(self.session.study, wish))

    async def _stand(self, history: History[Wish], seq: int) -> None:
        """Stand at another step: tell the page its wish, and draw it."""
        await self._step(history, seq, tell_wish=True)
        await self._show(seq)

    async def _show(self, seq: int) -> None:
        """Draw where the steps stand, quickly and then in full."""
        wish = self.session.history.now
        try:
            await self._shape_somehow(wish, seq)
        except InputError as error:
            await self._take_out(wish, str(error), seq)
            return
        self._later(self._study(wish, seq))

    async def _study(self, wish: Wish, seq: int) -> None:
        """The whole study of a wish that still stands, once the hand has rested a moment."""
        await asyncio.sleep(REST)
        if self.line.newest > seq or wish != self.session.history.now:
            return
        try:
            await self._send_study(partial(self.session.full, wish, seq))
        except InputError as error:
            self.line.then(partial(self._take_out, wish, str(error), seq))
            return
        await self._send_photo(wish)

    async def _send_photo(self, wish: Wish) -> None:
        """The mound in the photograph, where there is one and the wish still stands."""
        if self.session.photo is not None and wish == self.session.history.now:
            shown = await self._in(self.hands.slow, partial(self.session.in_photo, wish))
            await self._say(shown or {})

    async def _take_out(self, wish: Wish, words: str, seq: int) -> None:
        """Take a wish out of the steps that the whole study refuses, and go back to the one before it."""
        self.session.history = self.session.history.without(wish)
        await self._keep_safe()
        await self._take_back(words, seq)

    async def _take_back(self, words: str, seq: int) -> None:
        """Say why a wish was refused, and what stands: the page goes back to that, and it is drawn again."""
        await self._refuse(words, seq=seq, **self.session.state())
        self.line.then(partial(self._show, seq))

    async def _send_kept(self, wish: Wish) -> None:
        """The version kept to compare with, in full."""
        try:
            await self._send_study(partial(self.session.full, wish, 0, "kept"))
        except InputError as error:
            self.line.then(partial(self._take_out, wish, str(error), 0))

    async def _send_study(self, work: Callable[[], Sequence[bytes]]) -> None:
        """Send a whole study, its ground and its shape together: no other's ground may come between."""
        async with self.one_study:
            for frame in await self._in(self.hands.slow, work):
                await self.socket.send_bytes(frame)

    async def _step(self, history: History[Wish], seq: int, tell_wish: bool = False) -> None:
        """Take a step, keep it safe, and tell the page where it stands."""
        self.session.history = history
        await self._keep_safe()
        await self._tell_state(seq, tell_wish)

    async def _keep_safe(self) -> None:
        try:
            await self._in(self.hands.files, self.session.keep_draft)
        except OSError as error:
            await self._refuse(self.session.draft_trouble(error))

    async def _tell_state(self, seq: int, tell_wish: bool = False) -> None:
        state = self.session.state()
        if not tell_wish:
            del state["wish"]
        await self._say({"say": "state", "seq": seq, **state})

    async def _write(self, asked: PageMessage) -> None:
        """Save what stands now, or write its plan set, and say how it went; only what the study takes."""
        self.writing.add(asked.what)
        now = self.session.history.now
        try:
            await self._in(self.hands.slow, partial(self.session.study, now))
            if asked.what == "save":
                words = await self._in(self.hands.files, partial(self.session.save, now))
                self.line.then(partial(self._stand_as_saved, now, asked.seq))
            else:
                words = await self._in(self.hands.slow, partial(self.session.plan, now))
            await self._say({"say": "done", "text": words})
        except InputError as error:
            self.line.then(partial(self._take_out, now, str(error), asked.seq))
        except HummockError as error:
            await self._refuse(str(error))
        finally:
            self.writing.discard(asked.what)

    async def _stand_as_saved(self, now: Wish, seq: int) -> None:
        """Go on with the shape as the file holds it: its numbers end with the last digit that is written."""
        history, saved = self.session.history, self.session.saved
        if history.now != now or saved == now:
            await self._step(history, seq)
        else:
            await self._stand(history.in_place_of(now, saved), seq)

    def _later(self, work: Coroutine[object, object, None]) -> None:
        task = asyncio.create_task(work)
        self.tasks.add(task)
        task.add_done_callback(self.tasks.discard)

    async def _in(self, hand: Executor, work: Callable[[], Answer]) -> Answer:
        return await asyncio.get_running_loop().run_in_executor(hand, work)

    async def _refuse(self, words: str, **state: object) -> None:
        await self._say({"say": "refused", "text": words, **state})

    async def _say(self, message: Mapping[str, object]) -> None:
        await self.socket.send_text(plain_text(message))
