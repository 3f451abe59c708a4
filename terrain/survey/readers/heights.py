"""Cells of a GeoTIFF height grid, thinned to shots."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np

from terrain.earth import SURVEY_FOOT
from terrain.errors import InputError
from terrain.extras import library
from terrain.grid import Array
from terrain.survey.measured import Measured, ReadOptions, settled_unit
from terrain.survey.readers.dense import in_window, shots_of, window_box
from terrain.survey.readers.reference import ReferenceUnits, units_of_text
from terrain.survey.readers.thinning import Thinning

_MOST_CELLS = 4_000_000  # a yard as wide as there is, at 1 m; several arrays of these fit a reader's memory
# Byte order and version: TIFF 6.0 (section 2) and its form for large files.
STARTS = (b"II*\0", b"MM\0*", b"II+\0", b"MM\0+")
# The file alone: nothing beside it, nothing that it names, nothing over a network.
ALONE = {
    "GDAL_DISABLE_READDIR_ON_OPEN": "EMPTY_DIR",
    "GDAL_GEOREF_SOURCES": "INTERNAL",
    "GDAL_PAM_ENABLED": "NO",
    "GDAL_SKIP": "VRT DERIVED",
    "CPL_VSIL_CURL_ALLOWED_FILENAME": "none",
    "PROJ_NETWORK": "OFF",
}
_BAND_UNITS = {
    **dict.fromkeys(("m", "metre", "metres", "meter", "meters"), 1.0),
    **dict.fromkeys(("ft", "foot", "feet", "international foot"), 0.3048),
    **dict.fromkeys(("us survey foot", "us-ft", "ftus", "us survey feet", "foot_us"), SURVEY_FOOT),
}


def read(path: Path, label: str, asked: ReadOptions) -> Measured:
    """Read the heights of a grid, one at the middle of each cell that has one.

    Cells without data and cells outside `asked.window` are left out. Raises `InputError` for a file that is no
    GeoTIFF, for places in degrees, and for a grid too large to read whole.
    """
    rasterio: Any = library("rasterio", label, "reading a height grid")
    with path.open("rb") as stream:
        if stream.read(4) not in STARTS:
            raise InputError(label, "this is not a GeoTIFF, whatever its name says.", "Accepted: a GeoTIFF of heights.")
    with rasterio.Env(**ALONE), rasterio.open(path, driver="GTiff") as grid:
        units = _units(grid, label)
        plane, notes = settled_unit(units.plane, asked, label, "coordinates")
        height, more = _height_unit(units, asked, label)
        points = _points(grid, asked, plane, height, label)
    if not len(points):
        where = " within the stated distance of the bed" if asked.window is not None else ""
        raise InputError(label, f"no cell{where} has a height.", "Accepted: a grid that covers the yard.")
    thinning = Thinning(asked.most)
    thinning.add(in_window(points, asked))
    return shots_of(thinning, label, asked, f"{len(points):,} cells have a height", (*notes, *more))


def _units(grid: Any, label: str) -> ReferenceUnits:
    """The units that the grid's reference and its band name."""
    units = units_of_text(grid.crs.to_wkt()) if grid.crs else ReferenceUnits()
    if units.degrees:
        raise InputError(label, "its places are degrees of longitude and latitude.", "Write it in plane coordinates.")
    band = _BAND_UNITS.get(str(grid.units[0] or "").strip().lower())
    return ReferenceUnits(units.plane, units.height if band is None else band)


def _height_unit(units: ReferenceUnits, asked: ReadOptions, label: str) -> tuple[float, tuple[str, ...]]:
    """The unit of heights: named, or that of the places, with a note."""
    if units.height is not None or units.plane is None:
        return settled_unit(units.height, asked, label, "heights")
    factor, _ = settled_unit(units.plane, asked, label, "heights")
    return factor, (f"{label}: the file does not name the unit of its heights; that of its places was taken.",)


def _points(grid: Any, asked: ReadOptions, plane: float, height: float, label: str) -> Array:
    """Middles of the cells with a height, (n, 3) in metres."""
    rows, columns = _part(grid, asked, plane)
    cells = (rows[1] - rows[0]) * (columns[1] - columns[0])
    if cells > _MOST_CELLS:
        raise InputError(
            label,
            f"the grid has {cells:,} cells, more than {_MOST_CELLS:,}.",
            'State how far around the bed to read, such as within = "60 ft" under [survey].',
        )
    if cells <= 0:
        return np.empty((0, 3))
    heights = grid.read(1, window=(rows, columns), masked=True).astype(float)
    there = ~np.ma.getmaskarray(heights) & np.isfinite(np.ma.getdata(heights))
    down, across = np.nonzero(there)
    east, north = grid.transform * (across + columns[0] + 0.5, down + rows[0] + 0.5)
    scale, offset = grid.scales[0], grid.offsets[0]
    up = np.ma.getdata(heights)[there] * scale + offset
    return np.column_stack([east * plane, north * plane, up * height])


def _part(grid: Any, asked: ReadOptions, plane: float) -> tuple[tuple[int, int], tuple[int, int]]:
    """Rows and columns that the window touches; all of them where there is none."""
    whole = (0, int(grid.height)), (0, int(grid.width))
    if asked.window is None:
        return whole
    west, south, east, north = (side / plane for side in window_box(asked))
    corners = [~grid.transform * corner for corner in ((west, south), (west, north), (east, south), (east, north))]
    spans = []
    for axis, size in ((1, whole[0][1]), (0, whole[1][1])):
        places = [corner[axis] for corner in corners]
        first, last = max(0, int(np.floor(min(places)))), min(size, int(np.ceil(max(places))))
        spans.append((first, max(first, last)))
    return spans[0], spans[1]
