"""The files of one run go into a folder as a set: all of them, or none, and never beside half of another run's.

A run writes into a stage, a folder of its own inside the output folder. Once all is down on the disk, a record in the
stage says what the folder is to hold. From there on everything is a rename: the earlier files and their manifest go
out, the new ones come in, the new manifest last. A run that is killed before its record leaves a stage that the next
run removes; one killed after it leaves all that is needed to finish, which the next run does first. In between the
folder has no manifest that names the set: it is absent, and no file of it stands beside one of another run.
"""

from __future__ import annotations

import json
import os
import shutil
import stat
import tempfile
from collections.abc import Iterable, Iterator
from contextlib import ExitStack, contextmanager, suppress
from dataclasses import asdict, dataclass, replace
from pathlib import Path

from terrain.errors import OutputError
from terrain.files.locking import PATIENCE, is_held, locked
from terrain.files.manifest import (
    MANIFEST,
    After,
    Listed,
    Run,
    after,
    as_manifest,
    is_plain_name,
    listed,
    read_manifest,
)
from terrain.files.saving import sync, write_new
from terrain.files.targets import refuse_held

PREFIX = ".hummock-"
_LOCK, _RECORD, _NEW, _OLD, _DURING, _AFTER = "lock", "record.json", "new", "old", "during.json", "after.json"


@contextmanager
def folder_locked(out: Path, patience: float = PATIENCE) -> Iterator[None]:
    """Keep other runs from changing the files of a folder until the block ends.

    Raises `BusyError` where another one changes them still after a while, `OSError` where the folder is not writable.
    """
    busy = f"{out}: another run is writing into this folder. Wait until it has ended, or give another --out."
    with locked(out / f"{PREFIX}lock", busy, patience):
        yield


@contextmanager
def staged(out: Path, run: Run | None) -> Iterator[Path]:
    """Give an empty folder to write into; at the end its files are put into `out` as the set of `run`.

    Without a run the files are put there and no manifest names them. On any error nothing is put anywhere.

    Raises
    ------
    OutputError
        Where another program holds a file that is to be replaced, or another run the folder.
    OSError
        Where the system does not let a file be written.
    """
    out = out.resolve()  # the user may keep results elsewhere; from here on no link is followed
    with ExitStack() as held:
        with folder_locked(out):
            sweep(out)
            stage = Path(tempfile.mkdtemp(prefix=PREFIX, dir=out))
            held.callback(_clear, stage)
            held.enter_context(locked(stage / _LOCK, ""))
        (stage / _NEW).mkdir()
        (stage / _OLD).mkdir()
        yield stage / _NEW
        files = tuple(_on_disk(path) for path in sorted((stage / _NEW).iterdir()))
        with folder_locked(out):
            _publish(stage, out, files, run)


def _clear(stage: Path) -> None:
    """Remove a stage, unless it holds what is needed to finish what could not be undone."""
    if not (stage / _RECORD).exists():
        shutil.rmtree(stage, ignore_errors=True)


def _on_disk(path: Path) -> Listed:
    sync(path)
    found = listed(path)
    if found is None:
        raise OSError(f"{path.name} is no file")
    return found


def _publish(stage: Path, out: Path, files: tuple[Listed, ...], run: Run | None) -> None:
    names = [file.name for file in files]
    refuse_held(out, names)
    found = None if run is None else after(_runs(out), replace(run, files=files))
    _record(stage, names, found)
    try:
        _finish(stage, out)
    except BaseException as error:
        _undo(stage, out, names, listed=found is not None)
        if isinstance(error, PermissionError | FileExistsError | IsADirectoryError | NotADirectoryError):
            raise OutputError(
                f"{error.filename}: this file cannot be replaced ({error.strerror}); another program may hold it. "
                "Close it and run again; nothing was changed."
            ) from error
        raise


def _runs(out: Path) -> tuple[Run, ...]:
    try:
        return read_manifest(out)
    except ValueError:
        return ()  # no manifest of ours: it says nothing, and is replaced


def _record(stage: Path, names: list[str], found: After | None) -> None:
    """Write down what the folder is to hold; the record itself last, and by a rename, so that it is whole."""
    if found is not None:
        write_new(stage / _AFTER, as_manifest(found.runs))
        if found.untouched:
            write_new(stage / _DURING, as_manifest(found.untouched))
    aside = stage / f"{_RECORD}.part"
    leaving = [] if found is None else [asdict(file) for file in found.leaving]
    write_new(aside, json.dumps({"names": names, "leaving": leaving, "listed": found is not None}).encode())
    for place in (stage / _NEW, stage):
        sync(place)
    os.replace(aside, stage / _RECORD)
    sync(stage)


@dataclass(frozen=True)
class _Record:
    """What a stage is to do: names that come, unchanged files that go, and whether a manifest is due."""

    names: tuple[str, ...]
    leaving: tuple[Listed, ...]
    listed: bool


def _read_record(stage: Path) -> _Record | None:
    """The record of a stage; None where it has none, or one that no run of this program wrote."""
    try:
        if not _is_own(stage):
            return None
        plain = json.loads((stage / _RECORD).read_bytes())
        leaving = tuple(Listed(one["name"], one["size"], one["sha256"]) for one in plain["leaving"])
        record = _Record(tuple(plain["names"]), leaving, bool(plain["listed"]))
    except (OSError, ValueError, KeyError, TypeError, RecursionError):
        return None
    names = (*record.names, *(file.name for file in leaving))
    return record if all(is_plain_name(name) and name != MANIFEST for name in names) else None


def _is_own(stage: Path) -> bool:
    """Tell whether a stage is built as this program builds one, of folders and a file: a link would lead elsewhere."""
    kinds = {_NEW: stat.S_ISDIR, _OLD: stat.S_ISDIR, _RECORD: stat.S_ISREG}
    return all(is_kind(os.lstat(stage / name).st_mode) for name, is_kind in kinds.items())


def _finish(stage: Path, out: Path) -> None:
    """Do what the record of a stage says, or what is left of it; every step may have been done before."""
    record = _read_record(stage)
    assert record is not None
    new, old = stage / _NEW, stage / _OLD
    if record.listed and (stage / _AFTER).exists():
        if not os.path.lexists(old / MANIFEST):
            _move(out / MANIFEST, old / MANIFEST)
        _move(stage / _DURING, out / MANIFEST)
    going = [file.name for file in record.leaving if listed(out / file.name, follow=False) == file]
    replaced = [name for name in record.names if (new / name).exists()]
    _move_all([*replaced, *going], out, old)
    _move_all(record.names, new, out)
    sync(out)  # the manifest must not be on the disk before what it names
    _move(stage / _AFTER, out / MANIFEST)
    sync(out)
    (stage / _RECORD).unlink()


def _move_all(names: Iterable[str], source: Path, target: Path) -> None:
    for name in names:
        _move(source / name, target / name)


def _undo(stage: Path, out: Path, names: list[str], *, listed: bool) -> None:
    """Put everything back as it was before the record, and take the record away."""
    new, old = stage / _NEW, stage / _OLD
    for name in names:
        if not os.path.lexists(new / name):
            _move(out / name, new / name)
    if os.path.lexists(old / MANIFEST) or (listed and not (stage / _AFTER).exists()):
        with suppress(FileNotFoundError):
            (out / MANIFEST).unlink()  # the one that held meanwhile, or the new one
    for path in sorted(old.iterdir()):
        _move(path, out / path.name)
    (stage / _RECORD).unlink()


def _move(path: Path, to: Path) -> None:
    """Rename what is there; what is not there was moved before."""
    with suppress(FileNotFoundError):
        os.replace(path, to)


def sweep(out: Path) -> None:
    """Finish or remove what killed runs left in a folder that is locked."""
    for stage in sorted(out.glob(f"{PREFIX}*")):
        if not stage.is_dir() or stage.is_symlink() or _is_strange(stage) or is_held(stage / _LOCK):
            continue
        if _read_record(stage) is not None:
            _finish(stage, out)
        shutil.rmtree(stage, ignore_errors=True)


def _is_strange(stage: Path) -> bool:
    """Tell whether somebody else made this folder: what it holds is not ours to move."""
    return hasattr(os, "getuid") and stage.lstat().st_uid != os.getuid()


def unfinished(out: Path) -> bool:
    """Tell whether a run is putting its files into a folder, or was stopped while it did."""
    return any((stage / _RECORD).exists() for stage in out.glob(f"{PREFIX}*"))
