"""A file of measurements, read by its ending."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path

from terrain.errors import InputError
from terrain.survey.files import check_there
from terrain.survey.measured import Asked, Measured
from terrain.survey.readers import cloud, drawing, geojson, heights, table

_FORMATS: Mapping[str, Callable[[Path, str, Asked], Measured]] = {
    ".geojson": geojson.read,
    ".json": geojson.read,
    ".dxf": drawing.read,
    ".las": cloud.read,
    ".laz": cloud.read,
    ".tif": heights.read,
    ".tiff": heights.read,
}
# What people try and no reader takes, with what they can do about it.
_OTHERS = {
    ".dwg": "Save the drawing as DXF.",
    ".shp": "Write it as GeoJSON or CSV.",
    ".kml": "Write it as GeoJSON or CSV in plane coordinates.",
    ".kmz": "Write it as GeoJSON or CSV in plane coordinates.",
    ".gpx": "Write it as CSV in plane coordinates.",
    ".xls": "Save the sheet as CSV.",
    ".xlsx": "Save the sheet as CSV.",
    ".ods": "Save the sheet as CSV.",
}


def read_measured(path: Path, label: str, asked: Asked, whole: bool = True) -> Measured:
    """Read a file of measurements.

    Parameters
    ----------
    path, label
        The file, and its name as the site file writes it.
    asked
        Units, layers, classes and window.
    whole
        Passed to the reader of tables: every row must be complete.

    Raises
    ------
    InputError
        From the reader of the format; for a format without a reader; `NoFileError` where there is no such file.
    """
    check_there(path, label)
    ending = path.suffix.lower()
    if ending in _OTHERS:
        raise InputError(label, f'files that end in "{ending}" are not read.', _OTHERS[ending])
    if ending in _FORMATS:
        return _FORMATS[ending](path, label, asked)
    return table.read(path, label, asked, whole)
