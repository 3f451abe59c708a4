"""Unsaved work, kept beside the site file so that neither a closed page nor a stopped command loses any of it."""

from __future__ import annotations

import errno
import json
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager, suppress
from pathlib import Path

from terrain.errors import InputError, OutputError
from terrain.files import locked, save
from terrain.site import Site
from terrain.survey import read_bytes
from viewer.web.live.wish import Wish, read_wish, with_wish

FORMAT = "hummock-unsaved/1"
MOST_BYTES = 2_000_000
Plain = dict[str, object]


def draft_path(path: Path) -> Path:
    """Where the unsaved work of a site file is kept."""
    return path.with_name(f"{path.stem}.unsaved.json")


@contextmanager
def draft_held(path: Path) -> Iterator[None]:
    """Keep the unsaved work of a site file for one page: two would write over each other's.

    Raises
    ------
    OutputError
        Where another page works on that site file.
    """
    draft = draft_path(path)
    busy = f"{path}: a live page is open on it already, with unsaved work of its own. Stop that command first."
    # A folder that takes no lock takes no draft either.
    with ExitStack() as held:
        with suppress(OSError):
            held.enter_context(locked(draft.with_name(f".{draft.name}.page"), busy, patience=0.0))
        yield


def plain_wish(wish: Wish) -> Plain:
    """A wish as JSON values, survey metres."""
    rings = [wish.outline.exterior, *wish.outline.interiors]
    return {
        "outline": [[list(point) for point in ring.coords[:-1]] for ring in rings],
        "crest": [[point.x, point.y, point.height] for point in wish.crest],
        "max_slope": wish.max_slope,
        "toe": wish.toe,
        "gentle_side": wish.gentle_side,
        "soil": wish.soil,
        "streams": [[list(spot) for spot in line] for line in wish.streams],
    }


def write_draft(path: Path, now: Wish, kept: Wish | None) -> None:
    """Write the unsaved work of a site file, whole or not at all.

    Raises
    ------
    OSError
        Where it cannot be written.
    """
    draft = {"format": FORMAT, "now": plain_wish(now), "kept": None if kept is None else plain_wish(kept)}
    try:
        save(draft_path(path), json.dumps(draft).encode())
    except OutputError as error:
        raise OSError(errno.EBUSY, str(error)) from error


def remove_draft(path: Path) -> None:
    """Remove the unsaved work of a site file, now that it is saved or given up."""
    draft_path(path).unlink(missing_ok=True)


def read_draft(path: Path, site: Site) -> tuple[Wish, Wish | None] | None:
    """The unsaved work of a site file and the version kept beside it, or None where there is none that fits the site.

    What cannot be read stays where it is and is not offered.
    """
    try:
        draft = json.loads(read_bytes(draft_path(path), "the unsaved work", most=MOST_BYTES, follow=False))
        if draft["format"] != FORMAT:
            return None
        now = read_wish(draft["now"], (0.0, 0.0), farthest=1e9)
        kept = draft["kept"] and read_wish(draft["kept"], (0.0, 0.0), farthest=1e9)
        with_wish(site, now)
    except (OSError, ValueError, KeyError, TypeError, RecursionError, InputError):
        return None
    return now, kept or None
