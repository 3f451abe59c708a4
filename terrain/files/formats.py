"""The open formats that a yard can be written in, by name."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from terrain.earth import Located
from terrain.errors import InputError
from terrain.extras import is_there, library
from terrain.files.bodies import Body, ground_bodies, table_model
from terrain.files.job import Job
from terrain.files.meshes import write_bodies, write_meshes
from terrain.files.standing_bodies import standing_bodies
from terrain.soil import round_offset

EXISTING_OPACITY = 0.3


@dataclass(frozen=True)
class Format:
    """A format: what it writes, in a few words; how; the library that it needs beside the base, "" for none; and
    whether it is written only of a yard that lies somewhere on earth.
    """

    words: str
    write: Callable[[Job, Path], Sequence[str]]
    library: str = ""
    of_earth: bool = False


def is_writable(name: str) -> bool:
    """Tell whether a format's library is installed; what needs none always is."""
    return name not in FORMATS or not FORMATS[name].library or is_there(FORMATS[name].library)


def need_libraries(names: Sequence[str]) -> None:
    """Raise `InputError`, which says how to install it, where a format's library is missing."""
    for name in names:
        if name in FORMATS and FORMATS[name].library:
            library(FORMATS[name].library, f"--to {name}", "writing this format")


def need_place(names: Sequence[str], located: Located | None) -> None:
    """Raise `InputError` where a format is of the earth and the site does not say where on it the yard lies."""
    for name in names:
        if name in FORMATS and FORMATS[name].of_earth and located is None:
            raise InputError(
                f"--to {name}",
                "the site does not say where on earth it lies, and this format lies nowhere else.",
                'Add crs = "EPSG:..." or place = { point, lat, lon, bearing } under [survey]; or write geojson or dxf, '
                "as a local plan.",
            )


def yard_bodies(job: Job) -> tuple[Body, ...]:
    """Existing and proposed grade, fill, and what stands and lies there, less the round offset of the mesh; metres."""
    site, mesh = job.site, job.thin.mesh
    # Existing grade lies over every dig, and on all ground that stays: proposed grade has to show through it.
    existing, *others = ground_bodies(mesh, site.bed.sod, job.tint)
    bodies = (replace(existing, opacity=EXISTING_OPACITY), *others)
    return (*bodies, *standing_bodies(site, job.ground_at, round_offset(mesh, site.bed.sod), job.colours))


def _glb(job: Job, folder: Path) -> Sequence[str]:
    offset = round_offset(job.thin.mesh, job.site.bed.sod)
    write_bodies(folder / "yard.glb", yard_bodies(job), offset, job.grade)
    return ["yard.glb"]


def _obj(job: Job, folder: Path) -> Sequence[str]:
    offset = round_offset(job.thin.mesh, job.site.bed.sod)
    write_bodies(folder / "yard.obj", yard_bodies(job), offset, job.grade)
    return ["yard.obj"]


def _ply(job: Job, folder: Path) -> Sequence[str]:
    return write_meshes(folder, job.thin.mesh, job.site.bed.sod, ("ply",), grade=job.grade).names


def _stl(job: Job, folder: Path) -> Sequence[str]:
    write_bodies(folder / "table-model.stl", (table_model(job.thin.mesh, job.scale, job.base),), grade=job.grade)
    return ["table-model.stl"]


def _3mf(job: Job, folder: Path) -> Sequence[str]:
    write_bodies(folder / "table-model.3mf", (table_model(job.thin.mesh, job.scale, job.base),), grade=job.grade)
    return ["table-model.3mf"]


def _dxf(job: Job, folder: Path) -> Sequence[str]:
    from terrain.files.drawing_dxf import write_dxf

    write_dxf(job, folder / "yard.dxf")
    return ["yard.dxf"]


def _landxml(job: Job, folder: Path) -> Sequence[str]:
    from terrain.files.surfaces_xml import write_landxml

    write_landxml(job, folder / "surfaces.xml")
    return ["surfaces.xml"]


def _geotiff(job: Job, folder: Path) -> Sequence[str]:
    from terrain.files.grids_tif import write_grids

    return write_grids(job, folder)


def _geojson(job: Job, folder: Path) -> Sequence[str]:
    from terrain.files.features_json import write_geojson

    return write_geojson(job, folder)


def _gpkg(job: Job, folder: Path) -> Sequence[str]:
    from terrain.files.map_gpkg import write_gpkg

    write_gpkg(job, folder / "yard.gpkg")
    return ["yard.gpkg"]


def _kml(job: Job, folder: Path) -> Sequence[str]:
    from terrain.files.map_kml import write_kml

    write_kml(job, folder / "yard.kml")
    return ["yard.kml"]


def _kmz(job: Job, folder: Path) -> Sequence[str]:
    from terrain.files.map_kml import write_kml

    write_kml(job, folder / "yard.kmz")
    return ["yard.kmz"]


def _csv(job: Job, folder: Path) -> Sequence[str]:
    from terrain.files.points_csv import write_points

    return write_points(job, folder)


FORMATS: Mapping[str, Format] = {
    "glb": Format("ground, fill, houses, walks, trees and zones in one coloured model", _glb),
    "obj": Format("the same as named objects", _obj),
    "ply": Format("ground and fill, a file each", _ply),
    "stl": Format("table model on a plate, to scale", _stl),
    "3mf": Format("table model on a plate, to scale", _3mf),
    "dxf": Format("drawing: faces, contours, outline, shots, text", _dxf, "ezdxf"),
    "landxml": Format("surfaces with breaklines", _landxml),
    "geotiff": Format("height grids", _geotiff, "rasterio"),
    "geojson": Format("bed, contours, findings, shots, stakes: on the map, or as local plans", _geojson),
    "gpkg": Format("the same layers as one map file", _gpkg, of_earth=True),
    "kml": Format("outline, trees, stakes for a phone", _kml, of_earth=True),
    "kmz": Format("the same, packed", _kmz, of_earth=True),
    "csv": Format("shots, design points, stakes", _csv),
}
