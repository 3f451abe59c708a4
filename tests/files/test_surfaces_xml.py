"""LandXML surfaces: by the letter of the open schema, the same earthwork, every line an edge on its surface."""

from __future__ import annotations

from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pytest
import shapely
from exchanged import TINY, between, net

from terrain.files.job import Job
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


# What the schema asks of the elements written here: attributes it requires, others it knows, and what may stand inside.
# From public listings of the LandXML schema (LandXML.org), in part of edition 1.1: what is used of it. The XSD file
# itself was not at hand, so that this is no validation by an XSD processor.
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
