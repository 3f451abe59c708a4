"""Shots and design points as tables in survey coordinates and the survey's own unit."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from terrain.errors import OutputError
from terrain.files.job import Job
from terrain.files.traced import rings
from terrain.grid import Array
from terrain.tables import csv_text

_DECIMALS = 6
_SPACING = 1.0  # metres between design points inside the bed


def write_points(job: Job, folder: Path) -> list[str]:
    """Write points.csv (the shots, as a survey table) and design.csv; answer their names.

    design.csv holds proposed grade at the corners of the outline, at the crest and on squares inside the bed, with
    existing grade and fill beside it. Raises `OutputError` where a file cannot be written.
    """
    files = {"points.csv": _points(job), "design.csv": _design(job)}
    for name, text in files.items():
        try:
            (folder / name).write_text(text, encoding="utf-8", newline="")
        except OSError as error:
            raise OutputError(f"{folder / name} cannot be written: {error.strerror or error}") from error
    return list(files)


def _heads(job: Job, *figures: str) -> list[str]:
    """Names of the columns; every figure says its unit."""
    return ["point", *(f"{figure} ({job.site.units})" for figure in figures), "code"]


def _figure(metres: float, job: Job) -> str:
    return f"{metres / job.unit:.{_DECIMALS}f}"


def _points(job: Job) -> str:
    survey = job.site.survey
    rows = [
        (name, *(_figure(value, job) for value in shot.tolist()), code)
        for shot, name, code in zip(survey.shots, survey.names, survey.codes, strict=True)
    ]
    return csv_text(_heads(job, "x", "y", "elevation"), rows)


def _design(job: Job) -> str:
    grid = job.ground.grid
    rows: list[tuple[str, ...]] = []
    for what, places in _places(job):
        proposed = grid.sample(job.proposal.elevation, places)
        existing = job.ground_at(places)
        for place, finished, now in zip(places, proposed, existing, strict=True):
            figures = (*place.tolist(), float(finished), float(now), float(finished - now))
            rows.append((f"D{len(rows) + 1}", *(_figure(value, job) for value in figures), what))
    return csv_text(_heads(job, "x", "y", "elevation", "existing", "fill"), rows)


def _places(job: Job) -> list[tuple[str, Array]]:
    """What the points mark, and (n, 2) places, metres."""
    import shapely

    corners = np.vstack([ring[:-1] for ring in rings(job.site.bed.outline)])
    crest = np.array([point.at for point in job.proposal.crest]).reshape(-1, 2)
    west, south, east, north = job.proposal.worked.bounds
    across, up = np.meshgrid(np.arange(west + 0.5, east, _SPACING), np.arange(south + 0.5, north, _SPACING))
    squares = np.column_stack([across.ravel(), up.ravel()])
    squares = squares[shapely.contains_xy(job.proposal.worked, squares[:, 0], squares[:, 1])]
    return [("edge of bed", corners), ("crest", crest), (f"{job.grade} grade", squares)]
