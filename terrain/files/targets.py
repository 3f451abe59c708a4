"""Files that are to be replaced: each is looked at before any of them is touched."""

from __future__ import annotations

import os
import stat
import sys
from collections.abc import Iterable
from pathlib import Path

from terrain.errors import OutputError

if sys.platform != "win32":
    import fcntl


def refuse_held(folder: Path, names: Iterable[str]) -> None:
    """Refuse where a file of one of these names cannot be replaced, and say which and why.

    Raises
    ------
    OutputError
        For a folder in its place, a file that is read-only, and one that another program holds.
    """
    for name in names:
        try:
            mode = os.lstat(folder / name).st_mode
        except FileNotFoundError:
            continue
        except OSError as error:
            raise OutputError(f"{folder / name}: cannot be looked at ({error.strerror}).") from error
        reason = _reason(folder / name, mode)
        if reason:
            raise OutputError(f"{folder / name}: {reason}")


def _reason(path: Path, mode: int) -> str:
    if stat.S_ISDIR(mode):
        return "a folder stands where a result belongs. Rename it or choose another place."
    if not stat.S_ISREG(mode):
        return ""  # a link or the like is replaced itself, and what it leads to is not touched
    if not stat.S_IMODE(mode) & 0o222:
        return "this file is read-only, so nothing was changed. Rename it, let it be written, or choose another place."
    return _held(path)


def _held(path: Path) -> str:
    """Why a file cannot be written now, "" where it can be."""
    try:
        handle = os.open(path, os.O_RDWR | getattr(os, "O_NOFOLLOW", 0))
    except OSError as error:
        return (
            f"this file cannot be replaced ({error.strerror}); another program may hold it. "
            "Close it there and run again; nothing was changed."
        )
    try:
        locked = _is_locked(handle)
    finally:
        os.close(handle)
    return "another program holds this file. Close it there and run again; nothing was changed." if locked else ""


def _is_locked(handle: int) -> bool:
    """Tell whether another program has locked an open file, by either kind of lock that a system knows."""
    if sys.platform == "win32":
        return False  # a locked file could not have been opened there
    for lock in (fcntl.flock, fcntl.lockf):
        try:
            lock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            return True
        except OSError:
            continue  # a file system without locks
    return False
