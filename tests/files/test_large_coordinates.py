"""A survey in large coordinates makes the same files as one that starts in a corner of the yard, and is not shifted."""

from __future__ import annotations

import csv
import json
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import ezdxf
import numpy as np
import pytest
from PIL import Image
from random_sites import ground_on, site_with
from shapely import transform
from shapely.geometry import Point, Polygon, shape

from terrain.files.delivered import delivered_mesh
from terrain.files.drawing_dxf import LAYERS
from terrain.files.formats import FORMATS
from terrain.files.job import Job
from terrain.files.meshes import write_meshes
from terrain.files.thinning import fill_and_cut
from terrain.findings import Finding
from terrain.grid import Array, Grid
from terrain.shape.berm import shape_berm
from terrain.site.features import Basin, Channel, RetainedEdge, Terrace
from terrain.site.model import Heap, Tree, Walk
from terrain.site.survey import Survey
from terrain.site.things import Thing
from terrain.soil.solid import round_offset
from terrain.survey.measured import ReadOptions
from terrain.survey.readers.read import read_measured

# Easting and northing as a national grid counts them, off the round; and an elevation high in the hills.
FAR = np.array([1_000_000.13, 2_345_678.57, 1200.0])
XML = "{http://www.landxml.org/schema/LandXML-1.2}"
MICRON = 1e-6
ADDED = "metres, Z up; add 1000000 to x, 2345678 to y, 1249 to z for the survey"  # what mesh files say of themselves


def job_at(corner: Array) -> Job:
    """A yard with digs, stones and a breakline, its south-west corner at a place (3,), metres."""
    east, north, up = corner.tolist()
    turn = np.linspace(0.0, 2.0 * np.pi, 40, endpoint=False)
    radius = 1.0 + 0.2 * np.cos(2.0 * turn) + 0.08 * np.sin(3.0 * turn)
    bed = np.column_stack([10.0 + 7.0 * radius * np.cos(turn), 8.0 + 5.0 * radius * np.sin(turn)])
    site = site_with(Polygon(bed + corner[:2]), [(east + 7.5, north + 7.5, 0.5)], 0.25)
    shots = np.array([(0.0, 0.0, 50.0), (20.0, 0.25, 50.4), (0.5, 16.0, 50.16), (20.0, 16.0, 50.56)]) + corner
    kerb = np.array([(1.0, 1.3, 50.03), (6.3, 2.1, 50.15), (19.4, 15.2, 50.54)]) + corner
    stones = tuple((east + x, north + y) for x, y in ((11.0, 10.6), (12.0, 9.2), (13.4, 8.6), (15.0, 8.8)))
    site = replace(
        site,
        name='Bell\u0007 <yard> & "friends"',  # what a format has no place for must not break its file
        survey=Survey(shots, ("1", "2", "3", "4"), ("corner", "", "", "kerb"), breaklines=(kerb,)),
        tree=(Tree("oak", (east + 2.0, north + 12.0), 0.5, 0.6, 1.5),),
        basin=(Basin("pond", 0.5, center=(east + 8.0, north + 4.0), size=(2.0, 1.4), side_slope=1.0),),
        channel=(Channel("rill", ((east + 10.0, north + 4.0), (east + 14.0, north + 2.0)), 0.4, 0.25),),
        retained_edge=(RetainedEdge("oak stones", stones, 0.3),),
        walk=(Walk("path", ((east + 0.5, north + 0.5), (east + 19.0, north + 0.5)), 0.9),),
        heap=(Heap("soil heap", Point(east + 17.0, north + 13.0).buffer(1.0)),),
        thing=(
            Thing("hydrant", "hydrant", ((east + 18.5, north + 15.0),)),
            Thing("buried line", "gas", ((east + 0.5, north + 14.0), (east + 9.0, north + 15.5))),
            Thing("septic", "field", tuple((east + x, north + y) for x, y in ((0.2, 3.0), (1.2, 3.0), (1.2, 5.0)))),
        ),
        terrace=(Terrace("seat", Point(east + 7.5, north + 7.5).buffer(0.8), 0.3),),
    )
    grid = Grid(east, north, 0.3, 71, 57)
    rise = 0.02 * (grid.x - east)[None, :] + 0.01 * (grid.y - north)[:, None]
    ground = ground_on(grid, 50.0 + up + rise)
    proposal = shape_berm(site, ground)
    findings = (Finding("note", "trees", "A place.", at=(east + 2.0, north + 12.0)),)
    return Job(site, ground, proposal, findings, delivered_mesh(site, proposal), 0.1)


@dataclass(frozen=True)
class Written:
    """A yard far from the zero of its coordinates, every format of it, and the same yard near."""

    job: Job
    near: Job
    folder: Path


@pytest.fixture(scope="module")
def far(tmp_path_factory: pytest.TempPathFactory) -> Written:
    folder = tmp_path_factory.mktemp("far")
    job = job_at(FAR)
    for kind in (one for one in FORMATS.values() if not one.of_earth):
        assert kind.write(job, folder)
    return Written(job, job_at(np.zeros(3)), folder)


@pytest.fixture(scope="module")
def space(far: Written) -> Any:
    """What the DXF holds, read by another library."""
    return ezdxf.readfile(far.folder / "yard.dxf").modelspace()


def test_the_mesh_is_the_same_wherever_the_survey_counts_from(far: Written) -> None:
    """Points of one straight line stand off it by the last digit there; no triangle may come of that."""
    mesh, near = far.job.proposal.mesh, far.near.proposal.mesh
    a, b, c = (mesh.points[mesh.triangles[:, k]] for k in range(3))
    doubled = (b - a)[:, 0] * (c - a)[:, 1] - (b - a)[:, 1] * (c - a)[:, 0]
    assert doubled.min() > 1e-8  # m2
    assert far.job.proposal.steepest == pytest.approx(far.near.proposal.steepest, abs=1e-6)
    # A line whose length is a whole number of cells but for the last digit may be cut into one piece more.
    assert fill_and_cut(mesh) == pytest.approx(fill_and_cut(near), rel=1e-4)


def test_the_drawing_holds_shots_faces_and_contours_as_surveyed(far: Written, space: Any) -> None:
    shots = np.array([tuple(point.dxf.location) for point in space.query("POINT")])
    assert shots == pytest.approx(far.job.site.survey.shots, abs=1e-9)
    corners = np.array([tuple(v) for face in space.query("3DFACE") for v in face.wcs_vertices()])
    mesh = far.job.thin.mesh
    assert corners[:, :2].min(axis=0) == pytest.approx(mesh.points.min(axis=0), abs=MICRON)
    assert corners[:, 2].max() == pytest.approx(mesh.proposed.max(), abs=MICRON)
    for line in space.query('LWPOLYLINE[layer=="existing contours"]'):
        places = np.array([at[:2] for at in line.get_points()])
        level = far.job.ground.grid.sample(far.job.ground.elevation, places)
        assert level == pytest.approx(line.dxf.elevation, abs=MICRON)


def test_everything_that_stands_in_the_yard_has_its_layer(space: Any) -> None:
    used = {entity.dxf.layer for entity in space}
    assert used == set(LAYERS)
    words = {text.dxf.text for text in space.query("TEXT")}
    assert {"path", "soil heap", "seat", "hydrant", "gas", "field"} <= words
    assert len(space.query('POLYLINE[layer=="things"]')) == 3
    (flare,) = space.query('CIRCLE[layer=="flares"]')
    assert flare.dxf.radius == pytest.approx(0.6, abs=1e-9)


def test_surfaces_hold_their_points_as_surveyed(far: Written) -> None:
    root = ElementTree.parse(far.folder / "surfaces.xml").getroot()
    (project,) = root.iter(f"{XML}Project")
    assert project.attrib["name"] == 'Bell  <yard> & "friends"'
    surfaces = {surface.attrib["name"]: surface for surface in root.iter(f"{XML}Surface")}
    mesh, sod = far.job.thin.mesh, far.job.site.bed.sod
    under = np.unique(mesh.triangles[mesh.inside])
    everywhere = np.arange(len(mesh.points))
    for name, heights, used in (
        ("existing", mesh.existing, everywhere),
        ("stripped", mesh.existing - sod, under),
        ("proposed", mesh.proposed, everywhere),
    ):
        points = np.array([str(p.text).split() for p in surfaces.pop(name).iter(f"{XML}P")], dtype=float)
        assert points[:, [1, 0]] == pytest.approx(mesh.points[used], abs=MICRON)
        assert points[:, 2] == pytest.approx(heights[used], abs=MICRON)
    assert not surfaces


def test_another_reader_finds_the_grid_and_its_place(far: Written) -> None:
    """By a library that shares nothing with the one that wrote it; tags as the GeoTIFF standard 1.1 numbers them."""
    grid = far.job.ground.grid
    with Image.open(far.folder / "proposed.tif") as read:
        heights = np.array(read)[::-1].astype(float)
        across, up, _ = read.tag_v2[33550]  # ModelPixelScale
        tie = read.tag_v2[33922]  # ModelTiepoint: column, row, level, easting, northing, elevation
    west, north = tie[3] - tie[0] * across, tie[4] + tie[1] * up
    # The tie is a corner of the north-west cell; nodes stand in the middle of cells.
    assert west + across / 2 == pytest.approx(grid.x0, abs=1e-8)
    assert north - up * (grid.ny - 0.5) == pytest.approx(grid.y0, abs=1e-8)
    # Single precision holds 1,250 m to 0.06 mm.
    assert heights == pytest.approx(far.job.proposal.elevation, abs=1.3e-4)


def test_features_and_tables_stand_where_they_were_surveyed(far: Written) -> None:
    (bed,) = json.loads((far.folder / "bed.local.json").read_text(encoding="utf-8"))["features"]
    assert shape(bed["geometry"]).hausdorff_distance(far.job.site.bed.outline) < 2 * MICRON
    rows = (far.folder / "design.csv").read_text(encoding="utf-8").splitlines()
    places = np.array([(float(row["x (m)"]), float(row["y (m)"])) for row in csv.DictReader(rows)])
    reach = far.job.site.bed.outline.buffer(1e-3)
    assert all(reach.covers(Point(place)) for place in places)


@pytest.mark.parametrize("name", ["yard.dxf", "shots.local.json", "points.csv"])
def test_our_own_readers_give_the_survey_back(far: Written, name: str) -> None:
    found = read_measured(far.folder / name, name, ReadOptions("m", "m"))
    assert found.shots == pytest.approx(far.job.site.survey.shots, abs=MICRON)


def test_our_own_reader_gives_the_grid_back(far: Written) -> None:
    found = read_measured(far.folder / "existing.tif", "existing.tif", ReadOptions("m", "m", most=10**6))
    places = far.job.ground.grid.sample(far.job.ground.elevation, found.shots[:, :2])
    assert found.shots[:, 2] == pytest.approx(places, abs=1.3e-4)


def ply_points(path: Path) -> Array:
    """(n, 3) vertices of a binary PLY file, by the letter of its head."""
    head, _, body = path.read_bytes().partition(b"end_header\n")
    assert (
        "comment metres, Z up; add 1000000 to x, 2345678 to y, 1249 to z for the survey" in head.decode().splitlines()
    )
    words = head.decode().split()
    assert words[words.index("format") + 1] == "binary_little_endian"
    count = int(words[words.index("vertex") + 1])
    return np.frombuffer(body, "<f4", 3 * count).reshape(-1, 3).astype(float)


def test_every_mesh_file_says_its_unit_and_what_to_add_where_it_has_a_place_for_words(far: Written) -> None:
    added = ADDED.encode()
    assert (far.folder / "yard.obj").read_bytes().startswith(b"# " + added + b"\n")
    write_meshes(far.folder, far.job.thin.mesh, far.job.site.bed.sod, ("stl",))
    data = (far.folder / "fill.stl").read_bytes()
    assert data[:80] == (added + b"; finished").ljust(80)
    count = int.from_bytes(data[80:84], "little")
    assert len(data) == 84 + 50 * count  # the format: 50 bytes a facet
    assert (far.folder / "table-model.stl").read_bytes()[:80] == b"millimetres, Z up; finished".ljust(80)


@pytest.mark.parametrize("name", ["existing", "proposed", "fill"])
def test_mesh_files_keep_small_numbers_that_the_stated_offset_leads_back(far: Written, name: str) -> None:
    mesh = far.job.thin.mesh
    points = ply_points(far.folder / f"{name}.ply") + round_offset(mesh, far.job.site.bed.sod)
    assert (points[:, :2].min(axis=0) >= mesh.points.min(axis=0) - 1e-5).all()
    assert points[:, 2].max() <= max(mesh.proposed.max(), mesh.existing.max()) + 1e-5
    if name == "fill":
        outline = far.job.site.bed.outline.buffer(1e-4)
        assert all(outline.covers(Point(place)) for place in points[:, :2])
    else:
        assert points[:, :2] == pytest.approx(mesh.points, abs=2e-6)


def test_what_the_yard_has_stands_in_its_own_file(far: Written) -> None:
    """Its places come back within the six decimals that are written, read by another library."""
    features = json.loads((far.folder / "yard.local.json").read_text(encoding="utf-8"))["features"]
    site = far.job.site
    found = {one["properties"]["name"]: (one["properties"]["what"], shape(one["geometry"])) for one in features}
    assert set(found) == {"oak", "path", "hydrant", "gas", "field"}
    unit = far.job.unit
    for thing in site.thing:
        what, place = found[thing.name]
        assert what == thing.kind
        assert transform(place, lambda places: places * unit).equals_exact(thing.shape, 1e-5, normalize=True)
    assert found["oak"][1].coords[0] == pytest.approx(np.array(site.tree[0].at) / unit, abs=MICRON)
