"""What is written of a yard that lies on earth, as other libraries find it there; and what is not written elsewhere."""

from __future__ import annotations

import json
import re
import sqlite3
import zipfile
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import ezdxf
import numpy as np
import pyogrio
import pyproj
import pytest
import rasterio
import shapely
from rasterio.warp import transform

from terrain.earth.laid import MapFix, laid_by_bearing, named_system
from terrain.errors import InputError, OutputError
from terrain.field.setout.set_out import set_out
from terrain.files.formats import FORMATS, need_place
from terrain.files.job import Job
from terrain.grid import Array

MAPS, PLANS = ("geojson", "gpkg", "kml", "kmz"), ("geotiff", "landxml", "dxf")
WGS84 = pyproj.Geod(ellps="WGS84")
CENTIMETRE = 0.01


def by_bearing(job: Job) -> Job:
    """The yard about a place in a field, its y 12 degrees east of north."""
    site = job.site
    located = laid_by_bearing(MapFix("A", (0.0, 0.0), (-93.09, 44.95)), 0.2, site.units)
    return replace(job, site=replace(site, survey=replace(site.survey, located=located)))


def in_system(job: Job) -> Job:
    """The yard as if its survey's numbers were coordinates of a registered system about the place they have."""
    site = job.site
    return replace(job, site=replace(site, survey=replace(site.survey, located=FAR[site.units])))


FAR = {"m": named_system("EPSG:26915", "m", "crs"), "ft": named_system("EPSG:2264", "ft", "crs")}


@pytest.fixture(scope="module", params=[by_bearing, pytest.param(in_system, marks=pytest.mark.slow)])
def placed(request: pytest.FixtureRequest, job: Job) -> Job:
    place: Callable[[Job], Job] = request.param
    return place(job)


@pytest.fixture(scope="module")
def mapped(placed: Job, tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("on-earth")
    for name in MAPS:
        assert FORMATS[name].write(placed, folder)
    return folder


@pytest.fixture(scope="module")
def planned(placed: Job, tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("planned")
    for name in PLANS:
        assert FORMATS[name].write(placed, folder)
    return folder


def earth(job: Job, places: Array) -> Array:
    """Where the library of systems has places of the yard (metres), by the text of its system alone."""
    located = job.site.survey.located
    assert located is not None
    to_wgs84 = pyproj.Transformer.from_crs(pyproj.CRS(located.system), 4326, always_xy=True)
    return np.column_stack(to_wgs84.transform(*(places / job.unit).T))


def apart(lonlat: Array, other: Array) -> float:
    return float(np.abs(WGS84.inv(*lonlat.T, *other.T)[2]).max())


def outline(job: Job) -> Array:
    return shapely.get_coordinates(shapely.geometry.polygon.orient(job.site.bed.outline))


def read(path: Path, layer: str | None = None) -> tuple[Any, dict[str, Any]]:
    """The shapes of a layer, and its values by name, as GDAL reads them."""
    told, _, shapes, values = pyogrio.raw.read(path, layer=layer)
    return shapely.from_wkb(shapes), {**dict(zip(told["fields"], values, strict=True)), "crs": told["crs"]}


def test_geojson_is_longitude_and_latitude_as_its_standard_asks(placed: Job, mapped: Path) -> None:
    """RFC 7946: WGS 84, longitude first, no crs, outer rings counter-clockwise."""
    told = json.loads((mapped / "bed.geojson").read_text(encoding="utf-8"))
    assert "crs" not in told
    (bed,), _ = read(mapped / "bed.geojson")
    assert bed.exterior.is_ccw
    assert apart(shapely.get_coordinates(bed), earth(placed, outline(placed))) < CENTIMETRE
    shots, values = read(mapped / "shots.geojson")
    survey = placed.site.survey
    assert apart(shapely.get_coordinates(shots), earth(placed, survey.shots[:, :2])) < CENTIMETRE
    assert values["elevation"] * placed.unit == pytest.approx(survey.shots[:, 2], abs=1e-5)
    assert not list(mapped.glob("*.local.json"))


def test_the_map_file_is_whole_and_holds_every_layer_in_its_place(placed: Job, mapped: Path) -> None:
    path = mapped / "yard.gpkg"
    with sqlite3.connect(path) as file:
        assert file.execute("PRAGMA application_id").fetchone() == (0x47504B47,)  # OGC 12-128r19, requirement 2
        assert file.execute("PRAGMA integrity_check").fetchone() == ("ok",)
        assert file.execute("PRAGMA foreign_key_check").fetchall() == []
        assert {row[0] for row in file.execute("SELECT srs_id FROM gpkg_spatial_ref_sys")} >= {-1, 0, 4326}
    layers = dict(pyogrio.list_layers(path).tolist())
    assert {"bed", "contours", "findings", "shots", "trees", "yard", "zones"} <= set(layers)
    located = placed.site.survey.located
    assert located is not None
    (bed,), told = read(path, "bed")
    expected = located.system if located.registered else "EPSG:4326"
    assert told["crs"] == expected
    there = np.column_stack(
        pyproj.Transformer.from_crs(expected, 4326, always_xy=True).transform(*shapely.get_coordinates(bed).T)
    )
    assert apart(there, earth(placed, outline(placed))) < CENTIMETRE
    _, trees = read(path, "trees")
    assert [*trees["name"]] == [tree.name for tree in placed.site.tree]
    assert trees["trunk"] * placed.unit == pytest.approx([tree.trunk for tree in placed.site.tree], abs=1e-6)
    said = read(path, "findings")[1]
    assert [*said["text"]] == [finding.text for finding in placed.findings]
    assert len(read(path, "contours")[0]) > 5


@pytest.mark.parametrize("name", ["yard.kml", "yard.kmz"])
def test_a_phone_finds_bed_trees_and_zones(placed: Job, mapped: Path, name: str, tmp_path: Path) -> None:
    path = mapped / name
    if name.endswith("kmz"):
        with zipfile.ZipFile(path) as archive:
            assert archive.namelist() == ["doc.kml"]  # OGC 12-007r2, annex C: the first KML at the root
            path = Path(archive.extract("doc.kml", tmp_path))
    (bed,), _ = read(path, "Bed")
    assert apart(shapely.get_coordinates(bed)[:, :2], earth(placed, outline(placed))) < CENTIMETRE
    trees, values = read(path, "Trees")
    places = np.array([tree.at for tree in placed.site.tree])
    assert apart(shapely.get_coordinates(trees)[:, :2], earth(placed, places)) < CENTIMETRE
    assert [*values["Name"]] == [tree.name for tree in placed.site.tree]
    assert "Stakes are set by tape and level" in path.read_text(encoding="utf-8")


@pytest.mark.slow
def test_grids_name_the_system_of_their_cells(placed: Job, planned: Path) -> None:
    grid = placed.ground.grid
    with rasterio.open(planned / "fill.tif") as file:
        nodes = [file.xy(row, column) for row, column in ((0, 0), (file.height - 1, 0), (0, file.width - 1))]
        lonlat = np.column_stack(transform(file.crs, "EPSG:4326", *zip(*nodes, strict=True)))
        located = placed.site.survey.located
        assert located is not None
        if located.registered:
            assert file.crs.to_epsg() == int(located.system[5:])
    corners = np.array([(grid.x[0], grid.y[-1]), (grid.x[0], grid.y[0]), (grid.x[-1], grid.y[-1])])
    assert apart(lonlat, earth(placed, corners)) < CENTIMETRE


@pytest.mark.slow
def test_surfaces_and_drawing_name_the_system(placed: Job, planned: Path) -> None:
    located = placed.site.survey.located
    assert located is not None
    text = (planned / "surfaces.xml").read_text(encoding="utf-8")
    named = re.search(r"<CoordinateSystem [^>]*ogcWktCode='([^']*)'", text)
    assert named is not None
    assert pyproj.CRS.from_wkt(named[1]) == pyproj.CRS(located.system)
    assert ('linearUnit="USSurveyFoot"' in text) == located.in_survey_feet
    drawing = ezdxf.readfile(planned / "yard.dxf")
    # DXF reference, $INSUNITS: 2 feet, 6 metres, 21 US survey feet.
    assert drawing.header["$INSUNITS"] == (21 if located.in_survey_feet else 2 if placed.site.units == "ft" else 6)
    assert ("Coordinate system", located.name) in list(drawing.header.custom_vars)
    geodata = drawing.modelspace().get_geodata()
    assert (geodata is not None) == located.registered
    if geodata is not None:
        assert geodata.get_crs() == (int(located.system[5:]), True)


def test_nothing_of_a_yard_that_is_nowhere_pretends_to_lie_on_earth(job: Job, folder: Path, tmp_path: Path) -> None:
    assert job.site.survey.located is None
    for name in ("gpkg", "kml", "kmz"):
        with pytest.raises(InputError, match=rf"--to {name}: the site does not say where on earth it lies"):
            need_place([name], None)
        with pytest.raises(OutputError, match="where on earth"):
            FORMATS[name].write(job, tmp_path)
    need_place(["dxf", "geojson", "geotiff"], None)
    assert not list(folder.glob("*.geojson"))
    assert "CoordinateSystem" not in (folder / "surfaces.xml").read_text(encoding="utf-8")
    with rasterio.open(folder / "fill.tif") as file:
        assert not file.crs.is_geographic
        assert file.crs.to_epsg() is None


def test_stakes_are_on_the_maps_of_a_job_that_has_them(job: Job, tmp_path: Path) -> None:
    from shipped import study_of

    study = study_of("larkspur-rise" if job.site.units == "m" else "alder-bend")
    staked = replace(by_bearing(job), stakes=set_out(study))
    for name in ("gpkg", "kml", "geojson"):
        FORMATS[name].write(staked, tmp_path)
    assert staked.stakes is not None
    expected = earth(staked, np.array([stake.at for stake in staked.stakes.stakes]))
    for path, layer in (("yard.gpkg", "stakes"), ("yard.kml", "Stakes"), ("stakes.geojson", None)):
        shapes, _ = read(tmp_path / path, layer)
        assert apart(shapely.get_coordinates(shapes)[:, :2], expected) < CENTIMETRE, path
