"""The folder for results: looked at before any work, filled at the end with all of a run's files or none."""

from __future__ import annotations

import errno
import os
from collections.abc import Iterator, Sequence
from contextlib import ExitStack, contextmanager
from pathlib import Path

from terrain.errors import OutputError
from terrain.files import Run, begun, folder_locked, inputs_of, read_manifest, refuse_held, staged, sweep

# What the system says when a disk gives out in the middle of writing. Any other OSError there is a fault
# of this program and keeps its traceback.
_DISK_GAVE_OUT = {errno.ENOSPC, errno.EDQUOT, errno.EFBIG, errno.EIO, errno.EROFS}


def begin_run(out: Path, command: str, site_file: Path, *others: Path) -> Run:
    """Look at the output folder before any work, and take down what the run is about to read.

    Raises
    ------
    OutputError
        Where the folder cannot be written, or a file that this command wrote there before cannot be replaced.
    """
    refuse_unusable(out)
    run = begun(command, inputs_of(site_file, *others))
    try:
        before = read_manifest(out)
    except ValueError:
        before = ()
    refuse_held(out, sorted({name for old in before if old.command == command for name in old.names}))
    return run


def refuse_unusable(out: Path) -> None:
    """Raise OutputError at once, before any work, where the folder cannot be made or written.

    What killed runs left in it is cleared away.
    """
    nearest = next((place for place in (out, *out.parents) if os.path.lexists(place)), None)
    if nearest is not None and not nearest.is_dir():
        raise OutputError(f"{out}: cannot be the output folder, {nearest} is a file. Give another folder with --out.")
    try:
        if nearest == out:
            with folder_locked(out):
                sweep(out)
        elif nearest is not None and not os.access(nearest, os.W_OK | os.X_OK):
            raise PermissionError(errno.EACCES, os.strerror(errno.EACCES))
    except OSError as error:
        raise _unwritable(out, error) from error


@contextmanager
def results_in(out: Path, run: Run | None = None) -> Iterator[Path]:
    """Give a fresh folder to write into; at the end its files are put into `out` together, on any error none.

    They are the set of `run`, as manifest.json says then; without a run no manifest names them. What else lies in `out`
    stays.

    Raises
    ------
    OutputError
        Where the folder cannot be made or written, a file in it cannot be replaced, another run is writing into it, or
        the disk is full. Folders made on the way are removed.
    """
    missing = [place for place in (out, *out.parents) if not place.exists()]
    try:
        with ExitStack() as stack:
            yield _entered(stack, out, run)
    except Exception as error:
        remove_empty(missing)
        fault = _fault_of_the_disk(error)
        if fault is None:
            raise
        raise _unwritable(out, fault) from error
    except BaseException:
        remove_empty(missing)
        raise


def _entered(stack: ExitStack, out: Path, run: Run | None) -> Path:
    try:
        out.mkdir(parents=True, exist_ok=True)
        return stack.enter_context(staged(out, run))
    except OSError as error:
        raise _unwritable(out, error) from error


def _fault_of_the_disk(error: BaseException | None) -> OSError | None:
    """What the system said where an error comes from a disk that gave out.

    A writer may have put it in its own words, which name the folder aside, or have failed once more while it closed its
    file.
    """
    while error is not None:
        if isinstance(error, OSError) and error.errno in _DISK_GAVE_OUT:
            return error
        error = error.__cause__ or error.__context__
    return None


def remove_empty(folders: Sequence[Path]) -> None:
    """Take away folders that were made for nothing, the innermost first; one that holds anything stays."""
    for place in folders:
        try:
            place.rmdir()
        except OSError:
            return  # never made, or somebody else put something there meanwhile: not ours to remove


def _unwritable(out: Path, error: OSError) -> OutputError:
    return OutputError(f"{out}: the results cannot be written ({error.strerror}); nothing was changed.")
