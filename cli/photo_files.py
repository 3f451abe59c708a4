"""What `photo` is asked for, and every file that it writes."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import numpy as np

from terrain.errors import InputError
from terrain.files import as_json, summary_of
from terrain.flow import Study
from terrain.photograph import Sun, photo_plain, sun_at
from terrain.soil import round_offset
from viewer.page import subject_of
from viewer.pictures import PlacedPhoto, draw_photograph


def light_of(sun: str | None, when: str | None, place: str | None) -> Sun | None:
    """Where the sun stands, by what was asked; None: nothing was. `InputError` where it cannot be read."""
    if sun is not None:
        bearing, height = _two("--sun", sun, "degrees from north and over the horizon, such as '225 40'")
        if not 0.0 < height <= 90.0:
            raise InputError("--sun", f"the sun cannot stand {height:g} degrees high.", "Accepted: over 0, up to 90.")
        return Sun(bearing % 360.0, height)
    if when is None and place is None:
        return None
    if when is None or place is None:
        raise InputError("--when", "the sun's place needs both --when and --place.", "Give both, or --sun.")
    north, east = _two("--place", place, "degrees north and east, such as '44.9 -93.1'")
    if not (abs(north) <= 90.0 and abs(east) <= 180.0):
        raise InputError("--place", f'"{place}" lies nowhere on earth.', "Accepted: up to 90 north and 180 east.")
    found = sun_at(_time(when), north, east)
    if found.height <= 0.0:
        raise InputError(
            "--when", f'at "{when}" the sun is down there.', "Accepted: an hour of daylight; is the zone right?"
        )
    return found


def _time(when: str) -> datetime:
    try:
        read = datetime.fromisoformat(when)
    except ValueError:
        read = None
    if read is None or read.tzinfo is None:
        problem = f'"{when}" is no time with its zone.'
        raise InputError("--when", problem, "Accepted: such as 2026-06-21T15:00-05:00.") from None
    return read


def _two(option: str, words: str, accepted: str) -> tuple[float, float]:
    try:
        first, second = (float(word) for word in words.replace(",", " ").split())
    except ValueError:
        first = second = float("nan")
    if not np.isfinite([first, second]).all():
        raise InputError(option, f'"{words}" is not two numbers.', f"Accepted: {accepted}.")
    return first, second


def summary_with_photo(study: Study, placed: PlacedPhoto) -> dict[str, object]:
    """The keys of the summary, and the camera under "photo"."""
    summary = summary_of(study, round_offset(study.proposal.mesh, study.site.bed.sod))
    return {**summary, "photo": photo_plain(placed.fit, placed.photograph)}


def write_photo(study: Study, placed: PlacedPhoto, summary: dict[str, object], folder: Path) -> tuple[str, ...]:
    """Write the pictures and photo.json into an existing folder; answers their names."""
    draw_photograph(subject_of(study), placed, folder)
    (folder / "photo.json").write_text(as_json(summary), encoding="utf-8")
    return tuple(sorted(path.name for path in folder.iterdir()))
