"""`hummock new --page`: a new yard typed and tapped on a page of this machine, saved as the same site folder."""

from __future__ import annotations

from pathlib import Path

import click

from cli.folder import refuse_unusable, remove_empty
from cli.loudness import say
from cli.new_files import write_yard
from cli.serving import serve_room
from terrain.errors import OutputError
from terrain.units import Units
from viewer.web import NewRoom, NewYard, draft_held


def serve_new_yard(folder: Path, units: Units, port: int | None, browser: bool) -> None:
    """Serve the page until it is stopped, and say then what is saved and what is kept.

    Raises
    ------
    OutputError
        Where the folder holds a yard already, is open on another page, or cannot be written.
    """
    refuse_unusable(folder)
    missing = [place for place in (folder, *folder.parents) if not place.exists()]
    try:
        _make(folder)
        with draft_held(folder / "site.toml"):
            yard = NewYard(folder, units, lambda files: write_yard(folder, files))
            serve_room(NewRoom(yard), port, browser)
    finally:
        remove_empty(missing)
    if yard.unsaved:
        kept = "What was typed last is not saved: it is kept there, and the same command brings it back."
        click.echo(f"{folder}: {kept}")
    elif yard.saved:
        say(f"Next: {yard.next_command}")


def _make(folder: Path) -> None:
    """Make the folder that what is typed is kept in."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise OutputError(f"{folder}: cannot be made ({error.strerror}); nothing was changed.") from error
