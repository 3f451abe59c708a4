"""A lock that ends with the process which holds it: a small file beside what it guards, gone when it is let go."""

from __future__ import annotations

import errno
import os
import stat
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from terrain.errors import OutputError

PATIENCE = 10.0  # seconds that a second writer waits for the first
_STEP = 0.05
_FLAGS = os.O_RDWR | os.O_CREAT | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_NONBLOCK", 0)


class BusyError(OutputError):
    """Another run holds the lock."""


@contextmanager
def locked(path: Path, busy: str, patience: float = PATIENCE) -> Iterator[None]:
    """Hold the lock file at `path` until the block ends.

    Raises
    ------
    BusyError
        With the words `busy`, where another process still holds it after `patience` seconds.
    OutputError
        Where something stands at `path` that is no lock file, such as a link that somebody planted.
    OSError
        Where no file can be made there.
    """
    handle = _taken(path, busy, patience)
    try:
        yield
    finally:
        _let_go(path, handle)


def is_held(path: Path) -> bool:
    """Tell whether a living process holds the lock file at `path`; where there is no such file, nobody does."""
    try:
        handle = os.open(path, _FLAGS & ~os.O_CREAT)
    except OSError:
        return sys.platform == "win32" and path.exists()
    try:
        return not _try(handle)
    finally:
        os.close(handle)


def _taken(path: Path, busy: str, patience: float) -> int:
    until = time.monotonic() + patience  # which no setting of the clock moves
    while True:
        handle = _opened(path)
        try:
            if _try(handle) and _is_at(path, handle):
                return handle
        except BaseException:
            os.close(handle)
            raise
        os.close(handle)
        if time.monotonic() >= until:
            raise BusyError(busy)
        time.sleep(_STEP)


def _opened(path: Path) -> int:
    try:
        handle = os.open(path, _FLAGS, 0o666)
    except OSError as error:
        if error.errno in (errno.ELOOP, errno.EISDIR, errno.ENXIO):
            raise _planted(path) from error
        raise
    if not stat.S_ISREG(os.fstat(handle).st_mode):
        os.close(handle)
        raise _planted(path)
    return handle


def _planted(path: Path) -> OutputError:
    return OutputError(f"{path}: this stands where a lock file belongs and is none. Remove it; nothing was changed.")


def _is_at(path: Path, handle: int) -> bool:
    """Tell whether the locked file is still the one of that name: its last holder may have removed it meanwhile."""
    try:
        there, ours = os.lstat(path), os.fstat(handle)
    except FileNotFoundError:
        return False
    return (there.st_dev, there.st_ino) == (ours.st_dev, ours.st_ino)


if sys.platform == "win32":
    import msvcrt

    def _try(handle: int) -> bool:
        try:
            msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
        except OSError:
            return False
        return True

    def _let_go(path: Path, handle: int) -> None:
        os.close(handle)  # an open file cannot be removed there
        with suppress(OSError):
            path.unlink()

else:
    import fcntl

    def _try(handle: int) -> bool:
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            return False
        return True

    def _let_go(path: Path, handle: int) -> None:
        with suppress(OSError):
            path.unlink()  # while it is still locked, so that nobody takes a file that is about to go
        os.close(handle)
