"""Results are written aside and moved into place together, so that a folder never holds half a run."""

from __future__ import annotations

import errno
import os
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from terrain.errors import OutputError

# What the system says when a disk gives out in the middle of writing. Any other OSError there is a fault
# of this program and keeps its traceback.
_DISK_GAVE_OUT = {errno.ENOSPC, errno.EDQUOT, errno.EFBIG, errno.EIO, errno.EROFS}


def refuse_unusable(out: Path) -> None:
    """Raise OutputError at once, before any work, where a file stands in the way of the folder."""
    nearest = next((place for place in (out, *out.parents) if os.path.lexists(place)), None)
    if nearest is not None and not nearest.is_dir():
        raise OutputError(f"{out}: cannot be the output folder, {nearest} is a file. Give another folder with --out.")


@contextmanager
def results_in(out: Path) -> Iterator[Path]:
    """Give a fresh folder to write into; at the end move its files into `out`, on any error remove it.

    Files of the same name from an earlier run are replaced, all others in `out` stay. The fresh folder lies
    inside `out`, so that the move never crosses from one disk to another.

    Raises
    ------
    OutputError
        Where the folder cannot be made or written, or the disk is full. Folders made on the way are removed.
    """
    missing = [place for place in (out, *out.parents) if not place.exists()]
    try:
        aside = _fresh_folder(out)
        try:
            yield aside
            _move_all(aside, out)
        except (OSError, OutputError) as error:
            # A writer may have put the fault of the disk in its own words, which name the folder aside.
            fault = error if isinstance(error, OSError) else error.__cause__
            if not isinstance(fault, OSError) or fault.errno not in _DISK_GAVE_OUT:
                raise
            raise _unwritable(out, fault) from fault
        finally:
            shutil.rmtree(aside, ignore_errors=True)
    except BaseException:
        _remove_empty(missing)
        raise


def _fresh_folder(out: Path) -> Path:
    try:
        out.mkdir(parents=True, exist_ok=True)
        return Path(tempfile.mkdtemp(prefix=".hummock-", dir=out))
    except OSError as error:
        raise _unwritable(out, error) from error


def _move_all(aside: Path, out: Path) -> None:
    names = sorted(path.name for path in aside.iterdir())
    blocked = [name for name in names if (out / name).is_dir()]
    if blocked:
        raise OutputError(
            f"{out / blocked[0]}: a folder stands where a result belongs. Rename it or give another --out."
        )
    for name in names:
        os.replace(aside / name, out / name)


def _remove_empty(folders: list[Path]) -> None:
    for place in folders:
        try:
            place.rmdir()
        except OSError:
            return  # never made, or somebody else put something there meanwhile: not ours to remove


def _unwritable(out: Path, error: OSError) -> OutputError:
    return OutputError(f"{out}: the results cannot be written ({error.strerror}); nothing was changed.")
