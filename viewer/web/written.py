"""A page to send, written whole or not at all."""

from __future__ import annotations

from pathlib import Path

from terrain.errors import OutputError
from terrain.files import save


def write_page(text: str, path: Path, option: str) -> Path:
    """Write the text of a page; `option` is the one that names another file.

    Raises
    ------
    OutputError
        Where the file cannot be written.
    """
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        save(path, text.encode("utf-8"))
    except OSError as error:
        raise OutputError(f"{path}: cannot be written ({error.strerror}). Give another file with {option}.") from error
    return path
