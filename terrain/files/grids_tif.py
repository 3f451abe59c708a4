"""Existing grade, proposed grade, fill less cut and placed soil as GeoTIFF grids, as surveyed, in the survey's unit.

A value stands at the middle of each cell, which is a node of the ground's grid. The files name the system in which the
survey's numbers are coordinates; where nobody said where on earth that is, a local one that names the unit alone.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np

from terrain.errors import OutputError
from terrain.extras import library
from terrain.files.job import Job
from terrain.grid import Array

NAMES = ("existing", "proposed", "fill", "placed")
_UNIT_NAMES = {"ft": "foot", "m": "metre"}


def write_grids(job: Job, folder: Path) -> list[str]:
    """Write existing.tif, proposed.tif, fill.tif (fill positive, cut negative) and placed.tif (depth of soil over the
    stripped ground); answer their names.

    Raises `InputError` where the library for grids is missing, `OutputError` where a file cannot be written.
    """
    rasterio: Any = library("rasterio", "existing.tif", "writing a height grid")
    proposal = job.proposal
    raised = proposal.fill - proposal.cut
    placed = np.where(proposal.bed, np.maximum(raised + job.site.bed.sod, 0.0), 0.0)
    values = (job.ground.elevation, proposal.elevation, raised, placed)
    names = []
    for name, heights in zip(NAMES, values, strict=True):
        path = folder / f"{name}.tif"
        try:
            with rasterio.Env():
                _write(rasterio, job, path, heights)
        except rasterio.errors.RasterioError as error:
            raise OutputError(f"{path} cannot be written: {error}") from error
        names.append(path.name)
    return names


def _system(job: Job) -> str:
    """The system of the survey's numbers: a registered number, or well-known text."""
    located = job.site.survey.located
    if located is not None:
        return located.system
    word = _UNIT_NAMES[job.site.units]
    return f'LOCAL_CS["survey of {word}s",UNIT["{word}",{job.unit}],AXIS["Easting",EAST],AXIS["Northing",NORTH]]'


def _write(rasterio: Any, job: Job, path: Path, heights: Array) -> None:
    grid, unit = job.ground.grid, job.unit
    cell = grid.cell / unit
    north = (grid.y0 + grid.cell * (grid.ny - 1)) / unit + cell / 2
    with rasterio.open(
        path,
        "w",
        driver="GTiff",
        width=grid.nx,
        height=grid.ny,
        count=1,
        dtype="float32",
        crs=rasterio.crs.CRS.from_user_input(_system(job)),
        transform=rasterio.transform.from_origin(grid.x0 / unit - cell / 2, north, cell, cell),
        compress="deflate",
    ) as written:
        written.write(np.flipud(heights / unit).astype(np.float32), 1)
        written.units = (job.site.units,)
        written.set_band_description(1, path.stem)
        written.update_tags(GRADE=job.grade)
