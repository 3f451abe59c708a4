"""A file of measurements, read by its ending."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from terrain.errors import InputError
from terrain.survey.files import check_there
from terrain.survey.maps import is_map
from terrain.survey.measured import Measured, ReadOptions
from terrain.survey.readers import geojson, table
from terrain.survey.readers.apart import CLOUD, DRAWING, HEIGHTS, LANDXML, Foreign, read_apart

_FOREIGN: Mapping[str, Foreign] = {
    ".dxf": DRAWING,
    ".las": CLOUD,
    ".laz": CLOUD,
    ".tif": HEIGHTS,
    ".tiff": HEIGHTS,
    ".xml": LANDXML,
    ".landxml": LANDXML,
}
# What people try and no reader takes, with what they can do about it.
_AS_SCAN = 'Bring it as a scan: scan = { file = "%s", marks = "marks.csv" } under [survey].'
_OTHERS = {
    **dict.fromkeys((".ply", ".obj", ".glb", ".pts"), _AS_SCAN),
    ".dwg": "Save the drawing as DXF.",
    ".xls": "Save the sheet as .xlsx or CSV.",
    ".ods": "Save the sheet as .xlsx or CSV.",
}


def read_measured(path: Path, label: str, asked: ReadOptions, whole: bool = True) -> Measured:
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
    ending = path.suffix.lower()
    if ending in _FOREIGN:
        return read_apart(_FOREIGN[ending], path, label, asked)
    check_there(path, label)
    if ending in _OTHERS:
        raise InputError(label, f'files that end in "{ending}" are not read.', _OTHERS[ending].replace("%s", label))
    if ending in (".geojson", ".json") or is_map(path):
        return geojson.read(path, label, asked)
    return table.read(path, label, asked, whole)
