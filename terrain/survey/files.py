"""Files that people hand in, with one clear message for each thing that can be wrong with them."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from terrain.errors import InputError

FIX = "Give its path from the folder of the site file."
_TWO_BYTES = b"\xff\xfe", b"\xfe\xff"  # marks of UTF-16, which spreadsheets call Unicode text
_SIGNATURES = {b"PK": "a spreadsheet workbook or an archive", b"%PDF": "a PDF", b"\xff\xd8\xff": "a picture"}


class NoFileError(InputError):
    """There is nothing to read under a name: no file, a folder, or a file that may not be read.

    The message is about the file itself; `of_key` gives the same fault to the key of the site file that names it.
    """

    def __init__(self, label: str, here: str, named: str, accepted: str) -> None:
        self.named = named
        super().__init__(label, here, accepted)

    def of_key(self, where: str) -> InputError:
        """The same fault at a key."""
        return InputError(where, self.named, self.accepted)


@contextmanager
def named_by(where: str) -> Iterator[None]:
    """Give a file that is not there to the key of the site file that names it."""
    try:
        yield
    except NoFileError as fault:
        raise fault.of_key(where) from None


def check_there(path: Path, label: str, fix: str = FIX) -> None:
    """Refuse a name under which there is no file to read: `NoFileError`, where `fix` says what would be accepted."""
    if os.path.isdir(path):  # unlike Path.is_dir, quiet on names that no file can have
        inside = next((f' Did you mean "{p}"?' for p in sorted(path.glob("*.toml"))), "")
        fault = f"a folder, not a file.{inside}"
        raise NoFileError(label, f"this is {fault}", f'"{label}" is {fault}', fix)
    try:
        with path.open("rb") as stream:
            stream.read(1)
    except FileNotFoundError:
        looked = f'(looked for "{path}").'
        raise NoFileError(
            label, f"there is no such file {looked}", f'there is no file "{label}" {looked}', fix
        ) from None
    except (OSError, ValueError) as error:  # ValueError: a NUL in the name
        reason = f"cannot be read: {getattr(error, 'strerror', None) or error}."
        raise NoFileError(label, f"the file {reason}", f'the file "{label}" {reason}', fix) from None


def read_text(path: Path, label: str, fix: str = FIX) -> str:
    """Return the text of a UTF-8 file, with or without a byte-order mark, or of a UTF-16 file with one.

    Parameters
    ----------
    path
        The file.
    label
        The file's name as the person wrote it; opens the message.
    fix
        What would be accepted where the file is not there.

    Raises
    ------
    InputError
        Where it is not such text; `NoFileError` where there is no such file, it is a folder or it may not be read.
    """
    check_there(path, label, fix)
    return _decoded(path.read_bytes(), label)


def _decoded(data: bytes, label: str) -> str:
    kind = next((name for start, name in _SIGNATURES.items() if data.startswith(start)), "")
    if kind:
        raise InputError(label, f"this is {kind}, not a text file.", "Accepted: plain text, UTF-8.")
    try:
        text = data.decode("utf-16" if data.startswith(_TWO_BYTES) else "utf-8-sig")
    except UnicodeDecodeError as error:
        row = data.count(b"\n", 0, error.start) + 1
        raise InputError(
            f"{label} row {row}",
            f"the byte 0x{data[error.start]:02x} is not UTF-8 text.",
            "Save the file again as UTF-8 text.",
        ) from None
    if "\0" in text:
        raise InputError(label, "the file holds NUL characters, so it is not UTF-8 text.", "Save it as UTF-8.")
    return text
