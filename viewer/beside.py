"""Work that a second core does while the first goes on: a fork of the process, which writes its files and ends."""

from __future__ import annotations

import copyreg
import ctypes
import io
import os
import pickle
import signal
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager, suppress
from types import MappingProxyType
from typing import TypeVar

Thing = TypeVar("Thing")
Made = TypeVar("Made")
_DIES_WITH_ITS_PARENT = 1  # PR_SET_PDEATHSIG of Linux


@contextmanager
def done_beside(work: Callable[[], object]) -> Iterator[None]:
    """Do `work` in a fork of this process while the block runs; it is done on the way out.

    Precondition: `work` only writes files, each of its own. Where the system cannot fork or gives one core, and where
    the fork fails in any way, the work is done here after the block: what it raises is then raised as ever.
    """
    child = forked(work)
    try:
        yield
        done = child is not None and os.waitpid(child, 0)[1] == 0
    except BaseException:
        if child is not None:
            ended(child)
        raise
    if not done:
        work()


def on_both_cores(work: Callable[[Thing], Made], things: Sequence[Thing]) -> list[Made]:
    """What `work` makes of each of the things, in their order: of every second one in a fork of this process.

    Precondition: what is made can be handed on (`packed`), and `work` changes nothing. Where the system cannot fork or
    gives one core, and where the fork fails in any way, all is made here.
    """
    here, there = os.pipe()

    def hand_over() -> None:
        with open(there, "wb") as out:
            out.write(packed(_all(work, things[1::2])))

    child = forked(hand_over) if len(things) > 1 else None
    os.close(there)
    with open(here, "rb") as handed:
        try:
            own = _all(work, things[::2])
            sent = handed.read()
            done = child is not None and os.waitpid(child, 0)[1] == 0
        except BaseException:
            if child is not None:
                ended(child)
            raise
    others = pickle.loads(sent) if done else _all(work, things[1::2])  # from our own fork
    return [own[k // 2] if k % 2 == 0 else others[k // 2] for k in range(len(things))]


def _all(work: Callable[[Thing], Made], things: Sequence[Thing]) -> list[Made]:
    return [work(thing) for thing in things]


def packed(job: object) -> bytes:
    """Anything that the stages answer as bytes for `pickle.loads`, from one process of ours to another."""
    paper = io.BytesIO()
    packer = pickle.Pickler(paper, pickle.HIGHEST_PROTOCOL)
    # Read-only mappings too, which the library leaves out.
    packer.dispatch_table = {**copyreg.dispatch_table, MappingProxyType: lambda one: (_read_only, (dict(one),))}
    packer.dump(job)
    return paper.getvalue()


def _read_only(mapping: dict[object, object]) -> MappingProxyType[object, object]:
    """A mapping that nobody can change."""
    return MappingProxyType(mapping)


def forked(work: Callable[[], object], *, leads: bool = False) -> int | None:
    """The number of a process that does the work and answers by its status; None where there is none.

    `leads`: what it forks in turn is ended with it.
    """
    if not hasattr(os, "fork") or _cores() < 2:
        return None
    parent = os.getpid()
    child = os.fork()
    if child:
        return child
    status = 1
    try:
        if leads and hasattr(os, "setsid"):
            os.setsid()
        for number in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP):
            signal.signal(number, signal.SIG_DFL)
        if sys.platform == "linux":
            # A parent that is killed outright takes the fork with it: the lock of the folder is free at once.
            ctypes.CDLL(None).prctl(_DIES_WITH_ITS_PARENT, signal.SIGKILL)
        if os.getppid() == parent:
            work()
            status = 0
    finally:
        os._exit(status)  # nothing of the parent's is cleared away or written out from here


def _cores() -> int:
    """Cores that this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def ended(child: int, *, leads: bool = False) -> None:
    """End a fork, and what it leads; it may have ended and been waited for by itself."""
    if leads and hasattr(os, "killpg"):
        with suppress(ProcessLookupError, PermissionError):  # it leads nobody yet, or nobody any more
            os.killpg(child, signal.SIGKILL)
    with suppress(ProcessLookupError, ChildProcessError):
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
