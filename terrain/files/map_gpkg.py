"""The yard as one map file: a GeoPackage with a layer of each kind of thing.

Follows OGC 12-128r19 (GeoPackage 1.4): an SQLite file with its own application number, tables of systems, contents and
geometry columns, and shapes as well-known binary behind a head of eight bytes. Written by what Python has. A survey in
a registered system keeps its own coordinates; every other is in longitude and latitude.
"""

from __future__ import annotations

import sqlite3
import struct
from collections.abc import Iterable, Sequence
from contextlib import closing
from pathlib import Path
from typing import Any

import shapely
from shapely.geometry.base import BaseGeometry

from terrain.earth import EARTH, system_of
from terrain.errors import OutputError
from terrain.files.features import MapFeature, as_surveyed, map_layers, on_earth
from terrain.files.job import Job

_APPLICATION, _VERSION = 1196444487, 10400  # "GPKG", 1.4.0
_FLAGS = 1  # little-endian, no envelope
_KINDS = {
    "bed": "POLYGON",
    "contours": "LINESTRING",
    "findings": "POINT",
    "shots": "POINT",
    "stakes": "POINT",
    "trees": "POINT",
    "yard": "GEOMETRY",
    "zones": "POLYGON",
}
_TABLES = """
CREATE TABLE gpkg_spatial_ref_sys (
  srs_name TEXT NOT NULL, srs_id INTEGER PRIMARY KEY, organization TEXT NOT NULL,
  organization_coordsys_id INTEGER NOT NULL, definition TEXT NOT NULL, description TEXT);
CREATE TABLE gpkg_contents (
  table_name TEXT NOT NULL PRIMARY KEY, data_type TEXT NOT NULL, identifier TEXT UNIQUE, description TEXT DEFAULT '',
  last_change DATETIME NOT NULL DEFAULT (strftime('%Y-%m-%dT%H:%M:%fZ','now')),
  min_x DOUBLE, min_y DOUBLE, max_x DOUBLE, max_y DOUBLE, srs_id INTEGER,
  CONSTRAINT fk_gc_r_srs_id FOREIGN KEY (srs_id) REFERENCES gpkg_spatial_ref_sys(srs_id));
CREATE TABLE gpkg_geometry_columns (
  table_name TEXT NOT NULL, column_name TEXT NOT NULL, geometry_type_name TEXT NOT NULL, srs_id INTEGER NOT NULL,
  z TINYINT NOT NULL, m TINYINT NOT NULL, CONSTRAINT pk_geom_cols PRIMARY KEY (table_name, column_name),
  CONSTRAINT uk_gc_table_name UNIQUE (table_name),
  CONSTRAINT fk_gc_tn FOREIGN KEY (table_name) REFERENCES gpkg_contents(table_name),
  CONSTRAINT fk_gc_srs FOREIGN KEY (srs_id) REFERENCES gpkg_spatial_ref_sys (srs_id));
"""
_UNDEFINED = (("Undefined Cartesian SRS", -1), ("Undefined geographic SRS", 0))  # rows that every file has


def write_gpkg(job: Job, path: Path) -> None:
    """Write the layers. Raises `OutputError` where the file cannot be written, or the yard is nowhere on earth."""
    located = job.site.survey.located
    own = located is not None and located.registered and located.system.startswith("EPSG:")
    system = located.system if own and located is not None else EARTH
    number = int(system.partition(":")[2])
    try:
        path.unlink(missing_ok=True)
        with closing(sqlite3.connect(path)) as file, file:
            file.execute(f"PRAGMA application_id = {_APPLICATION}")
            file.execute(f"PRAGMA user_version = {_VERSION}")
            file.executescript(_TABLES)
            _systems(file, {EARTH, system})
            for name, features in sorted(map_layers(job).items()):
                placed = [_placed(feature, job, own=own) for feature in features]
                _layer(file, name, features, placed, number)
                said = f"Lengths and elevations among the values are in {job.site.units}; {job.grade} grade."
                file.execute("UPDATE gpkg_contents SET description = ? WHERE table_name = ?", (said, name))
    except (sqlite3.Error, OSError) as error:
        raise OutputError(f"{path} cannot be written: {error}") from error


def _placed(feature: MapFeature, job: Job, *, own: bool) -> BaseGeometry | None:
    if feature.shape is None:
        return None
    return shapely.force_2d(as_surveyed(feature.shape, job)) if own else on_earth(feature.shape, job)


def _systems(file: sqlite3.Connection, systems: Iterable[str]) -> None:
    rows: list[tuple[object, ...]] = [(name, number, "NONE", number, "undefined", "") for name, number in _UNDEFINED]
    for code in sorted(systems):
        found, number = system_of(code), int(code.partition(":")[2])
        rows.append((found.name, number, "EPSG", number, found.to_wkt("WKT1_GDAL"), ""))
    file.executemany("INSERT INTO gpkg_spatial_ref_sys VALUES (?, ?, ?, ?, ?, ?)", rows)


def _layer(
    file: sqlite3.Connection,
    name: str,
    features: Sequence[MapFeature],
    shapes: Sequence[BaseGeometry | None],
    system: int,
) -> None:
    """One table with its rows; values that only some of its features have are empty in the others."""
    columns = _columns(features)
    listed = "".join(f', "{key}" {kind}' for key, kind in columns.items())
    file.execute(f'CREATE TABLE "{name}" (fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL, geom {_KINDS[name]}{listed})')
    there = [shape for shape in shapes if shape is not None]
    bounds = shapely.total_bounds(there).tolist() if there else [None] * 4
    contents = "INSERT INTO gpkg_contents (table_name, data_type, identifier, min_x, min_y, max_x, max_y, srs_id) "
    file.execute(f"{contents} VALUES (?, 'features', ?, ?, ?, ?, ?, ?)", (name, name, *bounds, system))
    file.execute("INSERT INTO gpkg_geometry_columns VALUES (?, 'geom', ?, ?, 0, 0)", (name, _KINDS[name], system))
    rows: list[tuple[Any, ...]] = [
        (None if shape is None else _blob(shape, system), *(feature.values.get(key) for key in columns))
        for feature, shape in zip(features, shapes, strict=True)
    ]
    names, marks = "".join(f', "{key}"' for key in columns), ", ?" * len(columns)
    file.executemany(f'INSERT INTO "{name}" (geom{names}) VALUES (?{marks})', rows)


def _columns(features: Sequence[MapFeature]) -> dict[str, str]:
    """The columns of a layer's values, each with its kind."""
    found: dict[str, str] = {}
    for feature in features:
        found |= {key: "TEXT" if isinstance(value, str) else "DOUBLE" for key, value in feature.values.items()}
    return found


def _blob(shape: BaseGeometry, system: int) -> bytes:
    """A shape as the format holds it (clause 2.1.3)."""
    return b"GP" + struct.pack("<BBi", 0, _FLAGS, system) + bytes(shapely.to_wkb(shape, byte_order=1))
