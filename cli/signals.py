"""SIGTERM and SIGHUP end a command as Control+C does: what was begun is cleared away, the status says which it was."""

from __future__ import annotations

import signal
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from types import FrameType

_NAMES = ("SIGTERM", "SIGHUP")  # the second is not on every system


class AskedToEnd(BaseException):
    """The system, or somebody through it, asked this process to end."""

    def __init__(self, number: int) -> None:
        self.name = signal.Signals(number).name
        self.status = 128 + number  # as shells tell it
        super().__init__(self.name)


def _known() -> list[signal.Signals]:
    return [signal.Signals[name] for name in _NAMES if name in signal.Signals.__members__]


@contextmanager
def signals_end_cleanly() -> Iterator[list[AskedToEnd]]:
    """Raise `AskedToEnd` on these signals until the block ends; one that is ignored (`nohup`) stays ignored.

    What was raised stands in the list too: a compiler that is interrupted makes an error of its own of it.
    """
    asked: list[AskedToEnd] = []
    if threading.current_thread() is not threading.main_thread():
        yield asked
        return

    def end(number: int, frame: FrameType | None) -> None:
        # A second one while the first clears away would leave behind what the first was clearing.
        for known in _known():
            signal.signal(known, signal.SIG_IGN)
        asked.append(AskedToEnd(number))
        raise asked[0]

    before = {number: signal.getsignal(number) for number in _known()}
    for number, handler in before.items():
        if handler == signal.SIG_DFL:
            signal.signal(number, end)
    try:
        yield asked
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)
