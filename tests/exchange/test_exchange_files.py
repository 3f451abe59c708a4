"""Drawings, surfaces, grids and tables: as surveyed, in the survey's unit, the same to other readers and to our own."""

from __future__ import annotations

import csv
import importlib
import json
from dataclasses import replace
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import ezdxf
import numpy as np
import pytest
import rasterio
import shapely
import tomlkit
from ezdxf.lldxf.validator import is_valid_table_name
from ezdxf.math import Vec3
from shapely.geometry import Polygon, shape

from terrain.errors import InputError, OutputError
from terrain.exchange import drawing_dxf
from terrain.exchange.delivered import delivered_mesh
from terrain.exchange.formats import FORMATS, need_libraries
from terrain.exchange.job import Job
from terrain.grid import Array
from terrain.prisms import prism_volume
from terrain.site.features import RetainedEdge
from terrain.site.measured import Asked
from terrain.site.model import Site
from terrain.site.read import read_site
from terrain.site.readers.read import read_measured
from terrain.study import run_site
from terrain.units import unit_length
from viewer.hillshade import mound_interval

SITES = {"ft": "examples/alder-bend/site.toml", "m": "examples/larkspur-rise/site.toml"}
TINY = 1e-6  # units of the survey: what six decimals hold
XML = "{http://www.landxml.org/schema/LandXML-1.2}"


def with_lines(site: Site) -> Site:
    """The example with a breakline through the bed and stones in it, which the shipped ones do not have."""
    west, south, east, north = site.bed.outline.bounds
    low = float(site.survey.shots[:, 2].mean())
    line = np.array([(west, south - 0.4, low), (0.5 * (west + east), 0.5 * (south + north), low), (east, south, low)])
    stones = RetainedEdge("edge of stones", ((west + 2.0, south + 2.0), (west + 3.5, south + 1.5)), 0.2)
    return replace(site, survey=replace(site.survey, breaklines=(line,)), retained_edge=(stones,))


@pytest.fixture(scope="module", params=["m", pytest.param("ft", marks=pytest.mark.slow)])
def job(request: pytest.FixtureRequest, root: Path) -> Job:
    site = read_site(root / SITES[request.param])
    study = run_site(site)
    lined = with_lines(site)
    thin = delivered_mesh(lined, study.proposal)
    interval = mound_interval(study.proposal, site.units)
    findings = tuple(study.review.findings)
    return Job(lined, study.ground, study.proposal, findings, thin, interval)


@pytest.fixture(scope="module")
def folder(job: Job, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Every format of one yard."""
    place = tmp_path_factory.mktemp(f"exchange-{job.site.units}")
    for name in ("dxf", "landxml", "geotiff", "geojson", "csv"):
        assert FORMATS[name].write(job, place)
    return place


@pytest.fixture(scope="module")
def drawing(folder: Path) -> Any:
    """The DXF as another library reads it."""
    return ezdxf.readfile(folder / "yard.dxf")


def asked(job: Job, **more: Any) -> Asked:
    return Asked(job.site.units, job.site.units, **more)


def surveyed(job: Job) -> Array:
    return job.site.survey.shots / job.unit


def fill(job: Job) -> float:
    mesh = job.thin.mesh
    return prism_volume(mesh.points, mesh.triangles[mesh.inside], mesh.existing, mesh.proposed).fill


def between(lower: Array, upper: Array) -> float:
    """Volume between two stacks of triangles (m, 3, 3) in plan alike: prisms, fill less cut."""
    p, q = lower[:, 1, :2] - lower[:, 0, :2], lower[:, 2, :2] - lower[:, 0, :2]
    area = 0.5 * np.abs(p[:, 0] * q[:, 1] - p[:, 1] * q[:, 0])
    return float(area @ (upper - lower)[:, :, 2].mean(axis=1))


def net(job: Job) -> float:
    mesh = job.thin.mesh
    volume = prism_volume(mesh.points, mesh.triangles, mesh.existing, mesh.proposed)
    return volume.fill - volume.cut


# Drawing


def faces_on(space: Any, layer: str) -> Array:
    found = [[tuple(corner) for corner in face.wcs_vertices()] for face in space.query(f'3DFACE[layer=="{layer}"]')]
    return np.array([triangle[:3] for triangle in found])


def test_the_drawing_names_its_unit_and_passes_the_audit(job: Job, drawing: Any) -> None:
    # DXF reference, $INSUNITS: 2 is feet, 6 is metres.
    assert drawing.header["$INSUNITS"] == {"ft": 2, "m": 6}[job.site.units]
    audit = drawing.audit()
    assert not [*audit.errors, *audit.fixes]
    used = {entity.dxf.layer for entity in drawing.modelspace()}
    named = {drawing_dxf.named_layer("building", house.name) for house in job.site.building}
    named |= {drawing_dxf.named_layer("keep clear", area.name) for area in job.site.keep_clear}
    assert named <= used <= set(drawing_dxf.LAYERS) | named
    assert {"existing surface", "proposed contours", "outline", "shots", "trunks", "text", "breaklines"} <= used


def test_the_faces_of_the_drawing_hold_the_earthwork_where_it_was_surveyed(job: Job, drawing: Any) -> None:
    space = drawing.modelspace()
    existing, proposed = (faces_on(space, f"{name} surface") for name in ("existing", "proposed"))
    assert len(existing) == len(job.thin.mesh.triangles)
    assert between(existing, proposed) * job.unit**3 == pytest.approx(net(job), rel=1e-6)
    points = job.thin.mesh.points / job.unit
    assert existing[..., :2].min(axis=(0, 1)) == pytest.approx(points.min(axis=0), abs=TINY)
    assert existing[..., :2].max(axis=(0, 1)) == pytest.approx(points.max(axis=0), abs=TINY)


@pytest.mark.parametrize("name", ["existing", "proposed"])
def test_contours_of_the_drawing_stand_at_their_elevation(job: Job, drawing: Any, name: str) -> None:
    space = drawing.modelspace()
    lines = list(space.query(f'LWPOLYLINE[layer=="{name} contours"]'))
    assert len(lines) >= 3
    elevation = job.ground.elevation if name == "existing" else job.proposal.elevation
    step = job.interval / job.unit
    for line in lines:
        level = line.dxf.elevation
        assert level / step == pytest.approx(round(level / step), abs=1e-6)
        places = np.array([(at[0], at[1]) for at in line.get_points()]) * job.unit
        assert job.ground.grid.sample(elevation, places) == pytest.approx(level * job.unit, abs=1e-6)


def test_our_reader_finds_the_survey_in_the_drawing(job: Job, folder: Path) -> None:
    found = read_measured(folder / "yard.dxf", "yard.dxf", asked(job))
    assert found.shots / job.unit == pytest.approx(surveyed(job), abs=1e-9)
    (outline,) = [line for line in found.lines if line.code == "outline"]
    assert Polygon(outline.points[:, :2]).symmetric_difference(job.site.bed.outline).area < 1e-9
    (line,) = [line for line in found.lines if line.code == "breaklines"]
    assert line.points == pytest.approx(job.site.survey.breaklines[0], abs=1e-9)


def test_trees_and_words_stand_in_the_drawing(job: Job, drawing: Any) -> None:
    space = drawing.modelspace()
    trunks = {
        tuple(np.round(Vec3(c.dxf.center).xyz[:2], 6)): c.dxf.radius for c in space.query('CIRCLE[layer=="trunks"]')
    }
    for tree in job.site.tree:
        at = tuple(np.round(np.array(tree.at) / job.unit, 6))
        assert trunks[at] * job.unit == pytest.approx(tree.trunk / 2, abs=1e-9)
    words = {text.dxf.text for text in space.query("TEXT")}
    assert set(job.site.survey.names) <= words
    assert any(word.startswith(f"{job.site.tree[0].name}, trunk") for word in words)


def spoil(space: Any, job: Job) -> None:
    """A text in a style that the drawing does not have: a fault that an audit mends, and so reports."""
    space.add_text("words", dxfattribs={"style": "missing", "layer": "text"})


def test_a_drawing_that_fails_its_audit_is_not_delivered(
    job: Job, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(drawing_dxf, "_shots", spoil)
    with pytest.raises(OutputError, match=r"yard\.dxf: the audit of the drawing found .*missing"):
        drawing_dxf.write_dxf(job, tmp_path / "yard.dxf")
    assert not (tmp_path / "yard.dxf").exists()


# Surfaces


def surface(root: ElementTree.Element, name: str) -> tuple[Array, Array]:
    """(n, 3) easting, northing, elevation and (m, 3) corners of a named surface, by the letter of the schema."""
    (found,) = [one for one in root.iter(f"{XML}Surface") if one.attrib["name"] == name]
    definition = found.find(f"{XML}Definition")
    assert definition is not None
    assert definition.attrib["surfType"] == "TIN"
    spots = {p.attrib["id"]: [float(word) for word in str(p.text).split()] for p in definition.iter(f"{XML}P")}
    number = {name: row for row, name in enumerate(spots)}
    faces = [[number[word] for word in str(f.text).split()] for f in definition.iter(f"{XML}F")]
    return np.array(list(spots.values()))[:, [1, 0, 2]], np.array(faces)


def test_surfaces_name_their_unit_and_hold_the_earthwork(job: Job, folder: Path) -> None:
    root = ElementTree.parse(folder / "surfaces.xml").getroot()
    assert root.tag == f"{XML}LandXML"
    assert root.attrib["version"] == "1.2"
    (units,) = root.find(f"{XML}Units") or ()
    assert units.attrib["linearUnit"] == {"ft": "foot", "m": "meter"}[job.site.units]
    (spots, faces), (proposed, same) = surface(root, "existing"), surface(root, "proposed")
    assert (faces == same).all()
    assert between(spots[faces], proposed[faces]) * job.unit**3 == pytest.approx(net(job), rel=1e-4)
    assert spots[:, :2] == pytest.approx(job.thin.mesh.points / job.unit, abs=TINY)
    assert proposed[:, 2] == pytest.approx(job.thin.mesh.proposed / job.unit, abs=TINY)
    p, q = spots[faces[:, 1]] - spots[faces[:, 0]], spots[faces[:, 2]] - spots[faces[:, 0]]
    assert (p[:, 0] * q[:, 1] - p[:, 1] * q[:, 0] > 0.0).all()  # counter-clockwise, none without area


def test_breaklines_of_a_surface_are_edges_of_its_faces(job: Job, folder: Path) -> None:
    root = ElementTree.parse(folder / "surfaces.xml").getroot()
    spots, faces = surface(root, "existing")
    sides = np.vstack([faces[:, [0, 1]], faces[:, [1, 2]], faces[:, [2, 0]]])
    segments = shapely.linestrings(spots[sides][:, :, :2])
    tree = shapely.STRtree(segments)
    lines = list(root.iter(f"{XML}Breakline"))
    names = {line.attrib["name"] for line in lines}
    assert {"breakline 1", "edge of stones", "edge of fill"} <= names
    assert ("edge of dig" in names) == (job.thin.mesh.dug is not None)
    for line in lines:
        assert line.attrib["brkType"] in ("standard", "wall")
        figures = np.array(str(line.findtext(f"{XML}PntList3D")).split(), dtype=float).reshape(-1, 3)
        way = shapely.LineString(figures[:, [1, 0]])
        strip = way.buffer(2e-3 / job.unit)
        near = segments[tree.query(strip, predicate="covers")]
        assert shapely.union_all(near).buffer(2e-3 / job.unit).covers(way), line.attrib["name"]


# What the schema asks of the elements written here: attributes it requires, others it knows, and what may stand inside.
# From the annotated listing of LandXML-1.2.xsd (LandXML.org, 2008), which carries more than this.
ASKED_BY_SCHEMA: dict[str, tuple[str, str, str]] = {
    "LandXML": ("date time version", "language readOnly", "Units Project Application Surfaces"),
    "Units": ("", "", "Metric Imperial"),
    "Metric": ("areaUnit linearUnit volumeUnit temperatureUnit pressureUnit", "", ""),
    "Imperial": ("areaUnit linearUnit volumeUnit temperatureUnit pressureUnit", "", ""),
    "Project": ("name", "desc", ""),
    "Application": ("name", "desc version", ""),
    "Surfaces": ("", "name desc", "Surface"),
    "Surface": ("name", "desc state", "SourceData Definition"),
    "SourceData": ("", "", "Breaklines"),
    "Breaklines": ("", "", "Breakline"),
    "Breakline": ("", "brkType desc name state", "PntList3D"),
    "PntList3D": ("", "", ""),
    "Definition": ("surfType", "area2DSurf elevMax elevMin", "Pnts Faces"),
    "Pnts": ("", "", "P"),
    "P": ("id", "", ""),
    "Faces": ("", "", "F"),
    "F": ("", "", ""),
}
WORDS_OF_SCHEMA = {
    "linearUnit": {"foot", "meter"},
    "areaUnit": {"squareFoot", "squareMeter"},
    "volumeUnit": {"cubicYard", "cubicMeter"},
    "temperatureUnit": {"fahrenheit", "celsius"},
    "pressureUnit": {"inHG", "HPA"},
    "surfType": {"TIN"},
    "brkType": {"standard", "wall"},
}


def test_every_element_is_one_that_the_schema_allows_there(job: Job, folder: Path) -> None:
    root = ElementTree.parse(folder / "surfaces.xml").getroot()
    for element in root.iter():
        assert element.tag.startswith(XML)
        required, known, inside = (set(words.split()) for words in ASKED_BY_SCHEMA[element.tag.removeprefix(XML)])
        attributes = {name for name in element.attrib if not name.startswith("{")}
        assert required <= attributes <= required | known, element.tag
        assert {child.tag.removeprefix(XML) for child in element} <= inside, element.tag
        assert bool(inside) == bool(len(element)), element.tag  # a group may not be empty
        for name in attributes & WORDS_OF_SCHEMA.keys():
            assert element.attrib[name] in WORDS_OF_SCHEMA[name]
    for listed in root.iter(f"{XML}PntList3D"):
        figures = str(listed.text).split()
        assert len(figures) >= 6  # two points at least
        assert len(figures) % 3 == 0


@pytest.mark.parametrize("name", ["existing", "proposed"])
def test_every_line_of_a_surface_lies_on_that_surface(job: Job, folder: Path, name: str) -> None:
    """So that a reader who builds the surface from its lines anew does not pull the mound down to the ground."""
    root = ElementTree.parse(folder / "surfaces.xml").getroot()
    spots, _ = surface(root, name)
    (found,) = [one for one in root.iter(f"{XML}Surface") if one.attrib["name"] == name]
    drawn = [line for line in found.iter(f"{XML}Breakline") if name == "proposed" or "fill" in line.attrib["name"]]
    assert drawn
    places = {tuple(spot) for spot in np.round(spots, 6).tolist()}
    for line in drawn:
        figures = np.array(str(line.findtext(f"{XML}PntList3D")).split(), dtype=float).reshape(-1, 3)[:, [1, 0, 2]]
        assert {tuple(spot) for spot in figures.tolist()} <= places


# Grids


@pytest.mark.parametrize("name", ["existing", "proposed", "fill"])
def test_a_grid_holds_every_node_in_its_place(job: Job, folder: Path, name: str) -> None:
    grid = job.ground.grid
    values = {
        "existing": job.ground.elevation,
        "proposed": job.proposal.elevation,
        "fill": job.proposal.fill - job.proposal.cut,
    }[name]
    with rasterio.open(folder / f"{name}.tif") as read:
        heights = read.read(1)[::-1].astype(float)
        assert read.units == (job.site.units,)
        assert read.crs is not None
        assert read.crs.units_factor[1] == pytest.approx(job.unit, rel=1e-12)
        # The middle of the cell in the lower left corner is the south-west node.
        west, south = read.xy(read.height - 1, 0)
        assert (west, south) == pytest.approx((grid.x0 / job.unit, grid.y0 / job.unit), abs=TINY)
        assert read.res == pytest.approx((grid.cell / job.unit,) * 2, rel=1e-12)
    # Single precision: seven digits.
    assert heights * job.unit == pytest.approx(values, abs=2e-5)


def test_our_reader_finds_the_heights_and_their_unit(job: Job, folder: Path) -> None:
    found = read_measured(folder / "proposed.tif", "proposed.tif", asked(job, most=10**7))
    assert len(found.shots) == job.ground.grid.nx * job.ground.grid.ny
    assert job.ground.grid.sample(job.proposal.elevation, found.shots[:, :2]) == pytest.approx(
        found.shots[:, 2], abs=2e-5
    )
    assert not [note for note in found.notes if "does not name" in note]
    other = "m" if job.site.units == "ft" else "ft"
    converted = read_measured(folder / "proposed.tif", "proposed.tif", Asked(other, other, most=10**7))
    assert converted.shots == pytest.approx(found.shots, abs=1e-9)


# Features


def features(folder: Path, name: str) -> dict[str, Any]:
    return json.loads((folder / f"{name}.geojson").read_text(encoding="utf-8"))


def test_geojson_holds_bed_contours_and_findings(job: Job, folder: Path) -> None:
    (bed,) = features(folder, "bed")["features"]
    area = shape(bed["geometry"])
    assert area.area * job.unit**2 == pytest.approx(job.site.bed.outline.area, rel=1e-6)
    assert area.exterior.is_ccw  # RFC 7946, section 3.1.6
    lines = features(folder, "contours")
    assert lines["units"] == job.site.units
    for line in lines["features"]:
        elevation = job.ground.elevation if "existing" in line["properties"]["layer"] else job.proposal.elevation
        places = np.array(line["geometry"]["coordinates"]) * job.unit
        level = line["properties"]["elevation"] * job.unit
        assert job.ground.grid.sample(elevation, places) == pytest.approx(level, abs=1e-5)
    said = features(folder, "findings")["features"]
    assert [one["properties"]["text"] for one in said] == [finding.text for finding in job.findings]
    for one, finding in zip(said, job.findings, strict=True):
        assert (one["geometry"] is None) == (finding.at is None)


def test_our_reader_finds_the_survey_in_geojson(job: Job, folder: Path) -> None:
    found = read_measured(folder / "shots.geojson", "shots.geojson", asked(job))
    assert found.shots / job.unit == pytest.approx(surveyed(job), abs=TINY)
    assert (found.names, found.codes) == (job.site.survey.names, job.site.survey.codes)


# Tables


def test_our_reader_finds_the_survey_in_the_table(job: Job, folder: Path) -> None:
    found = read_measured(folder / "points.csv", "points.csv", asked(job))
    assert found.shots / job.unit == pytest.approx(surveyed(job), abs=TINY)
    assert (found.names, found.codes) == (job.site.survey.names, job.site.survey.codes)


def test_design_points_give_the_proposed_grade(job: Job, folder: Path) -> None:
    rows = (folder / "design.csv").read_text(encoding="utf-8").splitlines()
    assert rows[0].startswith("# ")
    assert f", {job.site.units}, " in rows[0]
    table = list(csv.DictReader(rows[1:]))
    places = np.array([(float(row["x"]), float(row["y"])) for row in table]) * job.unit
    figures = {key: np.array([float(row[key]) for row in table]) for key in ("elevation", "existing", "fill")}
    grade = job.ground.grid.sample(job.proposal.elevation, places)
    assert figures["elevation"] * job.unit == pytest.approx(grade, abs=1e-5)
    assert figures["fill"] == pytest.approx(figures["elevation"] - figures["existing"], abs=3 * TINY)
    assert {row["code"] for row in table} == {"edge of bed", "crest", "proposed grade"}
    assert len(table) > 20


def test_the_site_reads_again_from_what_was_written(job: Job, folder: Path, root: Path) -> None:
    """The bed and the shots as exported make the same yard as the files they came from."""
    text = (root / SITES[job.site.units]).read_text(encoding="utf-8")
    for name, new in (("shots.csv", "points.csv"), ("bed.csv", "bed.geojson")):
        text = text.replace(f'"{name}"', f'"{new}"')
    (folder / "again.toml").write_text(text, encoding="utf-8")
    again = read_site(folder / "again.toml")
    assert again.survey.shots == pytest.approx(job.site.survey.shots, abs=1e-6)
    assert again.bed.outline.symmetric_difference(job.site.bed.outline).area < 1e-4


def test_the_yard_reads_again_from_its_drawing_alone(job: Job, folder: Path, root: Path) -> None:
    """Shots, outline, breakline, buildings and ground to keep clear come back from the layers of the DXF."""
    document = tomlkit.parse((root / SITES[job.site.units]).read_text(encoding="utf-8"))
    document["survey"]["shots"] = "yard.dxf"  # type: ignore[index]
    document["bed"]["outline"] = "codes"  # type: ignore[index]
    for table in ("building", "keep_clear"):
        document.pop(table, None)
    (folder / "drawn.toml").write_text(tomlkit.dumps(document), encoding="utf-8")
    again = read_site(folder / "drawn.toml")
    assert again.survey.shots == pytest.approx(job.site.survey.shots, abs=1e-9)
    assert again.survey.breaklines[0] == pytest.approx(job.site.survey.breaklines[0], abs=1e-9)
    assert again.bed.outline.symmetric_difference(job.site.bed.outline).area < 1e-9
    for found, meant in ((again.building, job.site.building), (again.keep_clear, job.site.keep_clear)):
        assert meant
        assert [one.name for one in found] == [one.name for one in meant]
        for one, other in zip(found, meant, strict=True):
            assert one.outline.symmetric_difference(other.outline).area < 1e-9


@pytest.mark.parametrize("name", ["front walk", 'a/b "c": <d>; e*', "Gehölz, 3"])
def test_every_name_makes_a_layer_that_the_format_allows(name: str) -> None:
    layer = drawing_dxf.named_layer("keep clear", name)
    assert is_valid_table_name(layer)
    assert layer.startswith("keep clear ")


@pytest.mark.parametrize(("name", "library"), [("dxf", "ezdxf"), ("geotiff", "rasterio")])
def test_a_missing_library_says_what_to_install(name: str, library: str, monkeypatch: pytest.MonkeyPatch) -> None:
    real = importlib.import_module

    def without(wanted: str, *rest: Any) -> Any:
        if wanted == library:
            raise ImportError(wanted)
        return real(wanted, *rest)

    monkeypatch.setattr(importlib, "import_module", without)
    with pytest.raises(InputError, match=rf"--to {name}.*{library}.*pip install 'hummock\[exchange\]'"):
        need_libraries([name])
    need_libraries(["glb", "svg"])


def test_the_unit_of_a_job_is_that_of_its_survey(job: Job) -> None:
    assert job.unit == unit_length(job.site.units)
