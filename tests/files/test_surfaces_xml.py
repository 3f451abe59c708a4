"""LandXML surfaces: by the letter of the open schema, the same earthwork, every line an edge on its surface."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pytest
import shapely
from exchanged import TINY, between, net

from terrain.earth.laid import named_system
from terrain.files.job import Job
from terrain.files.surfaces_xml import write_landxml
from terrain.grid import Array
from terrain.numerics import prism_volume

XML = "{http://www.landxml.org/schema/LandXML-1.2}"


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


def test_between_stripped_and_proposed_lies_the_soil_that_is_placed(job: Job, folder: Path) -> None:
    """Worked out from the file alone: the volume over the mesh, from which the order is made."""
    root = ElementTree.parse(folder / "surfaces.xml").getroot()
    (under, faces), (proposed, _) = surface(root, "stripped"), surface(root, "proposed")
    top = {tuple(np.round(spot[:2], 6)): spot[2] for spot in proposed}
    over = np.array([[*spot[:2], top[tuple(np.round(spot[:2], 6))]] for spot in under])
    mesh, sod = job.proposal.mesh, job.site.bed.sod
    placed = prism_volume(mesh.points, mesh.triangles[mesh.inside], mesh.existing - sod, mesh.proposed).fill
    assert between(under[faces], over[faces]) * job.unit**3 == pytest.approx(placed, rel=2e-3)  # the file is thinned


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


def faults(text: bytes) -> list[str]:
    """What a validator of XSD (libxml2) finds against the part of the schema that is used here."""
    parsed = pytest.importorskip("lxml.etree")
    schema = parsed.XMLSchema(parsed.parse(Path(__file__).with_name("landxml_part.xsd")))
    schema.validate(parsed.fromstring(text))
    return [str(fault.message) for fault in schema.error_log]


def on_earth(job: Job) -> Job:
    """The yard as if its survey's numbers were coordinates of a registered system: in US survey feet, or metres."""
    located = named_system({"ft": "EPSG:2264", "m": "EPSG:26915"}[job.site.units], job.site.units, "crs")
    return replace(job, site=replace(job.site, survey=replace(job.site.survey, located=located)))


@pytest.mark.parametrize("place", [lambda job: job, on_earth], ids=["nowhere", "on earth"])
def test_surfaces_are_valid_by_the_schema(place: Callable[[Job], Job], job: Job, tmp_path: Path) -> None:
    write_landxml(place(job), tmp_path / "surfaces.xml")
    assert faults((tmp_path / "surfaces.xml").read_bytes()) == []
    for listed in ElementTree.parse(tmp_path / "surfaces.xml").iter(f"{XML}PntList3D"):
        assert len(str(listed.text).split()) % 3 == 0  # which no XSD can say


@pytest.mark.parametrize(
    ("right", "wrong"),
    [
        (b'linearUnit="', b'linearUnit="yard and '),
        (b'surfType="TIN"', b'surfType="mesh"'),
        (b'<Surface name="existing"', b"<Surface"),
        (b"<Pnts>", b"<Pnts></Pnts><Pnts>"),
        (b'<P id="2">', b'<P id="1">'),
        (b"<F>", b"<F>one "),
        (b'brkType="standard"', b'brkType="soft"'),
        (b' date="', b' day="'),
    ],
)
def test_the_schema_would_tell(right: bytes, wrong: bytes, folder: Path) -> None:
    text = (folder / "surfaces.xml").read_bytes()
    assert right in text
    assert faults(text.replace(right, wrong, 1))


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
