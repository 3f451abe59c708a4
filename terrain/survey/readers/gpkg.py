"""Features of a GeoPackage (OGC 12-128), read by what Python has: an SQLite file whose shapes are well-known binary."""

from __future__ import annotations

import sqlite3
import struct
from collections.abc import Iterator, Mapping
from contextlib import closing
from pathlib import Path
from typing import Any
from urllib.request import pathname2url

import shapely
from shapely.geometry import mapping

from terrain.errors import InputError
from terrain.survey.measured import ReadOptions, refuse_many

_START = b"SQLite format 3\0"
_ENVELOPES = {0: 0, 1: 32, 2: 48, 3: 48, 4: 64}  # bytes of the envelope by its number in the flags (clause 2.1.3)
_UNDEFINED = (-1, 0, 99999)  # systems that are none
_MOST_ROWS = 200_000


def read(path: Path, label: str, asked: ReadOptions) -> Mapping[str, Any]:
    """Every feature with its values by their names in small letters, and its table as `layer`.

    Raises `InputError` for a file that is none, and for layers in several systems.
    """
    with path.open("rb") as stream:
        if stream.read(16) != _START:
            raise InputError(label, "this is not a GeoPackage, whatever its name says.", "Accepted: a GeoPackage.")
    # The file alone and as it is: nothing beside it is looked for, nothing in it is run.
    with closing(sqlite3.connect(f"file:{pathname2url(str(path))}?mode=ro&immutable=1", uri=True)) as file:
        file.execute("PRAGMA trusted_schema = OFF")
        file.row_factory = sqlite3.Row
        layers = _layers(file, label)
        features = [feature for layer in layers for feature in _features(file, layer, label)]
        systems = {layer["srs_id"] for layer in layers}
        if len(systems) > 1:
            raise InputError(label, f"its layers are in {len(systems)} systems.", "Write them in one.")
        system = _system(file, systems.pop()) if systems else ""
    refuse_many(len(features), label)
    said = [] if system else [f"{label}: the file names no system; its numbers were taken as the survey's."]
    return {"system": system, "features": features, "notes": said}


def _layers(file: sqlite3.Connection, label: str) -> list[sqlite3.Row]:
    """Tables of features with the column of their shape and the number of their system."""
    try:
        return file.execute(
            "SELECT c.table_name, g.column_name, g.srs_id FROM gpkg_contents c JOIN gpkg_geometry_columns g "
            "ON c.table_name = g.table_name WHERE c.data_type = 'features' ORDER BY c.table_name"
        ).fetchall()
    except sqlite3.Error:
        raise InputError(label, "it has no table of contents.", "Accepted: a GeoPackage of features.") from None


def _quoted(name: str) -> str:
    return '"' + name.replace('"', '""') + '"'


def _features(file: sqlite3.Connection, layer: sqlite3.Row, label: str) -> Iterator[Mapping[str, Any]]:
    table, column = str(layer["table_name"]), str(layer["column_name"])
    for row in file.execute(f"SELECT * FROM {_quoted(table)} LIMIT {_MOST_ROWS}"):
        values = {str(key).lower(): row[key] for key in row.keys() if key != column}  # noqa: SIM118 (a row is no mapping)
        properties = {key: value for key, value in values.items() if isinstance(value, str | int | float)}
        shape = _shape(row[column], f"{label} {table} {values.get('fid', '')}".strip())
        yield {"type": "Feature", "geometry": shape, "properties": {"layer": table, **properties}}


def _shape(blob: object, where: str) -> Mapping[str, Any] | None:
    """A shape of the format as one of GeoJSON; None for an empty one."""
    if blob is None:
        return None
    if not isinstance(blob, bytes) or len(blob) < 8 or blob[:2] != b"GP":
        raise InputError(where, "its shape is none of a GeoPackage.", "Write the file again.")
    (flags,) = struct.unpack_from("<B", blob, 3)
    start = 8 + _ENVELOPES.get((flags >> 1) & 7, 0)
    try:
        found = shapely.from_wkb(blob[start:])
    except shapely.errors.GEOSException:
        raise InputError(where, "its shape is no well-known binary.", "Write the file again.") from None
    return None if found.is_empty else dict(_listed(mapping(found)))


def _listed(value: Any) -> Any:
    """Tuples as lists, all through."""
    if isinstance(value, Mapping):
        return {key: _listed(part) for key, part in value.items()}
    return [_listed(part) for part in value] if isinstance(value, list | tuple) else value


def _system(file: sqlite3.Connection, number: int) -> str:
    """The registered number of a system, or its well-known text; "" for one that is undefined."""
    if number in _UNDEFINED:
        return ""
    found = file.execute("SELECT * FROM gpkg_spatial_ref_sys WHERE srs_id = ?", (number,)).fetchone()
    if found is None:
        return ""
    if str(found["organization"]).upper() == "EPSG":
        return f"EPSG:{int(found['organization_coordsys_id'])}"
    text = str(found["definition"])
    return "" if text.lower() == "undefined" else text
