"""Text files that people hand in, with one clear message for each thing that can be wrong with them."""

from __future__ import annotations

import os
from pathlib import Path

from terrain.errors import InputError

_SIGNATURES = {b"PK": "a spreadsheet workbook or an archive", b"%PDF": "a PDF", b"\xff\xd8\xff": "a picture"}


def read_text(path: Path, label: str, fix: str) -> str:
    """Return the text of a UTF-8 file, with or without a byte-order mark.

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
        Where there is no such file, it is a folder, it may not be read, or it is not UTF-8 text.
    """
    if os.path.isdir(path):  # unlike Path.is_dir, quiet on names that no file can have
        inside = next((f' Did you mean "{p}"?' for p in sorted(path.glob("*.toml"))), "")
        raise InputError(label, f"this is a folder, not a file.{inside}", fix)
    try:
        data = path.read_bytes()
    except FileNotFoundError:
        raise InputError(label, f'there is no such file (looked for "{path}").', fix) from None
    except (OSError, ValueError) as error:  # ValueError: a NUL in the name
        reason = getattr(error, "strerror", None) or error
        raise InputError(label, f"the file cannot be read: {reason}.", fix) from None
    return _decoded(data, label)


def _decoded(data: bytes, label: str) -> str:
    kind = next((name for start, name in _SIGNATURES.items() if data.startswith(start)), "")
    if kind:
        raise InputError(label, f"this is {kind}, not a text file.", "Accepted: plain text, UTF-8.")
    try:
        text = data.decode("utf-8-sig")
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
