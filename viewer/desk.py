"""A second process that loads what draws while the first still reckons, and then draws what it is handed."""

from __future__ import annotations

import gc
import os
import pickle
from collections.abc import Callable, Iterator
from contextlib import contextmanager

from terrain.numerics import loops_ready
from viewer.beside import done_beside, ended, forked, packed


class Desk:
    """Takes one job: `channel` leads to the process `number`, which waits for it; None: there is no such process."""

    def __init__(self, number: int | None = None, channel: int | None = None) -> None:
        self._number, self._channel = number, channel

    @contextmanager
    def doing(self, work: Callable[..., object], *handed: object) -> Iterator[None]:
        """Do `work(*handed)` in the other process while the block runs; it is done on the way out.

        As `done_beside`, which takes its place where no process waits or the job cannot be handed over: `work`, a
        function of a module, only writes files, and is done here where it fails there.
        """
        if not self._hand_over((work, handed)):
            with done_beside(lambda: work(*handed)):
                yield
            return
        try:
            yield
            done = self._is_done()
        except BaseException:
            self.close()  # before anybody clears away what it writes into
            raise
        if not done:
            work(*handed)

    def close(self) -> None:
        """End the process, if it still runs, with all that it has started."""
        self._let_go()
        if self._number is not None:
            ended(self._number, leads=True)
            self._number = None

    def _hand_over(self, job: tuple[Callable[..., object], tuple[object, ...]]) -> bool:
        """Write the job to the process; False where there is none, it has died, or the job cannot leave this one."""
        if self._channel is None:
            return False
        try:
            bundle = packed(job)
            with open(self._channel, "wb", closefd=False) as there:
                there.write(bundle)
        except (OSError, pickle.PicklingError, AttributeError, TypeError):
            self.close()
            return False
        self._let_go()
        return True

    def _let_go(self) -> None:
        if self._channel is not None:
            os.close(self._channel)
            self._channel = None

    def _is_done(self) -> bool:
        """Wait for the process; answers whether it did its job."""
        assert self._number is not None
        status = os.waitpid(self._number, 0)[1]
        self._number = None
        return status == 0


NOBODY = Desk()  # what is to be drawn is drawn when it is asked for


@contextmanager
def second_desk(load: Callable[[], object]) -> Iterator[Desk]:
    """A desk for the block, whose process calls `load` first: what it imports is there when the job comes.

    Where the system cannot fork or gives one core there is no process, and nothing is loaded.
    """
    here, there = os.pipe()

    def wait() -> None:
        os.close(there)
        load()
        with open(here, "rb") as handed:
            try:
                work, things = pickle.load(handed)  # from the process that this one is a fork of
            except EOFError:  # nothing comes where a run is refused
                return
        work(*things)

    gc.freeze()  # twice: what is loaded here is worth no collection of its own
    loops_ready()
    gc.freeze()  # else the first collection in either process copies every page that both hold
    number = forked(wait, leads=True)
    gc.unfreeze()
    os.close(here)
    if number is None:
        os.close(there)
    desk = Desk(number, None if number is None else there)
    try:
        yield desk
    finally:
        desk.close()
