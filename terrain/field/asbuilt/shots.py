"""Shots on the built surface, read from any file of measurements."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from terrain.errors import InputError
from terrain.field.asbuilt.model import BuiltShots
from terrain.grid import frozen
from terrain.site import Site
from terrain.survey import ReadOptions, marks_of, read_measured
from terrain.units import show_length

FARTHEST = 200.0  # metres from the bed: beyond, the file belongs to another place or is in other units
HIGHEST = 30.0  # metres over or under the ground that was surveyed


def read_built(path: Path, site: Site) -> BuiltShots:
    """Read shots on the built surface; points coded as not on the ground are left out.

    Raises
    ------
    InputError
        Where the file cannot be read, holds fewer than three shots, or lies far from the site.
    """
    if not path.is_file():
        raise InputError("--shots", f"there is no file {path}.", "Give its path from the folder you are in.")
    asked = ReadOptions(site=site.units, units=site.units, stated=False)
    measured = read_measured(path, path.name, asked)
    ground = [i for i, code in enumerate(measured.codes) if all(mark.kind != "no ground" for mark in marks_of(code))]
    shots = np.asarray(measured.shots, dtype=float).reshape(-1, 3)[ground]
    names = tuple(measured.names[i] or f"point {i + 1}" for i in ground)
    if len(shots) < 3:
        problem = f"it holds {len(shots)} on the ground, which cannot show what was built."
        raise InputError(path.name, problem, "Accepted: three or more.")
    if not np.isfinite(shots).all():
        raise InputError(path.name, "a shot lacks its place or its elevation.", "Give every shot all three.")
    _check_near(shots, names, site, path.name)
    return BuiltShots(frozen(shots), names, tuple(measured.codes[i] for i in ground), path.name)


def _check_near(shots: np.ndarray, names: tuple[str, ...], site: Site, label: str) -> None:
    west, south, east, north = site.bed.outline.bounds
    off = np.maximum.reduce([west - shots[:, 0], shots[:, 0] - east, south - shots[:, 1], shots[:, 1] - north])
    surveyed = site.survey.shots[:, 2]
    high = np.maximum(surveyed.min() - shots[:, 2], shots[:, 2] - surveyed.max())
    for distance, most, what in ((off, FARTHEST, "from the bed"), (high, HIGHEST, "off the elevations surveyed")):
        worst = int(np.argmax(distance))
        if distance[worst] > most:
            raise InputError(
                label,
                f"shot {names[worst]} stands {show_length(distance[worst], site.units, 'distance')} {what}.",
                f'The site\'s units are "{site.units}"; use the same coordinates and benchmark as its survey.',
            )
