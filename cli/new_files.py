"""The files of a new site folder: written whole, and never over somebody's figures."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from cli.folder import results_in
from cli.loudness import say
from terrain.errors import OutputError


def write_yard(folder: Path, sheets: Mapping[str, bytes]) -> None:
    """Write all files of a site folder, or none, and say so."""
    with results_in(folder) as aside:
        for name, text in sheets.items():
            (aside / name).write_bytes(text)
    say(f"Wrote {', '.join(sorted(sheets, reverse=True))} in {folder}.")


def refuse_to_overwrite(folder: Path, names: list[str]) -> None:
    """Raise OutputError where any of the files is there already: a person's figures are never overwritten."""
    there = [name for name in names if (folder / name).exists()]
    if there:
        raise OutputError(f"{folder}: {', '.join(there)} already there, nothing was written. Give a new folder's name.")
