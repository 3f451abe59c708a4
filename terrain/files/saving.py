"""One way to save a file: whole or not at all, beside its place under a name that nobody can guess, then renamed."""

from __future__ import annotations

import os
import secrets
import stat
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from terrain.files.locking import locked

_MARK = ".part"
_NEW = os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_BINARY", 0)


def save(path: Path, data: bytes) -> None:
    """Put `data` in the place of a file; a link that stands there is replaced, never followed.

    Raises `OSError` where it cannot be written, and `OutputError` where another program is saving the same file; what
    stood there stays then.
    """
    with held_for_saving(path):
        replace(path, data)


@contextmanager
def held_for_saving(path: Path) -> Iterator[None]:
    """Keep other savers of the same file waiting until the block ends; clear away what killed ones left beside it.

    Raises `OutputError` where another one saves it still after a while, `OSError` where its folder cannot be written.
    """
    busy = f"{path}: another program is saving this file; nothing was saved. Try again in a moment."
    with locked(path.with_name(f".{path.name}.lock"), busy):
        for left in path.parent.glob(f".{_plain(path.stem)}.*{_MARK}{_plain(path.suffix)}"):
            with suppress(OSError):
                left.unlink()  # whoever wrote it held this lock, and holds it no longer
        yield


def replace(path: Path, data: bytes, check: Callable[[Path], None] | None = None) -> None:
    """Put `data` in the place of a file that is held for saving, if `check` has nothing against the new file.

    The file keeps its mode. Raises `OSError` where it cannot be written, and what `check` raises.
    """
    aside = path.with_name(f".{path.stem}.{secrets.token_hex(8)}{_MARK}{path.suffix}")
    try:
        write_new(aside, data)
        with suppress(FileNotFoundError):
            there = os.lstat(path)
            if stat.S_ISREG(there.st_mode):
                os.chmod(aside, stat.S_IMODE(there.st_mode))
        if check is not None:
            check(aside)
        os.replace(aside, path)
    finally:
        with suppress(OSError):
            aside.unlink()
    sync(path.parent)


def write_new(path: Path, data: bytes) -> None:
    """Write a file that must not be there yet, down to the disk."""
    with os.fdopen(os.open(path, _NEW, 0o666), "wb") as file:
        file.write(data)
        file.flush()
        os.fsync(file.fileno())


def sync(place: Path) -> None:
    """Bring a file or the names in a folder down to the disk, where the system offers that."""
    if os.name == "nt" and place.is_dir():
        return  # it opens no folders
    handle = os.open(place, os.O_RDONLY | getattr(os, "O_NOFOLLOW", 0))
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def _plain(text: str) -> str:
    """A name in which no mark stands for others."""
    return "".join(f"[{mark}]" if mark in "*?[" else mark for mark in text)
