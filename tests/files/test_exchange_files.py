"""Drawings, surfaces, grids and tables: as surveyed, in the survey's unit, the same to other readers and to our own."""

from __future__ import annotations

import csv
import importlib
import json
from pathlib import Path
from typing import Any

import ezdxf
import ezdxf.bbox
import ezdxf.math
import numpy as np
import pytest
import rasterio
import tomlkit
from exchanged import SITES, TINY, between, net
from ezdxf.lldxf.validator import is_valid_table_name
from ezdxf.math import Vec3
from shapely.geometry import Polygon, shape

from terrain.errors import InputError, OutputError
from terrain.extras import how_to_install
from terrain.files import drawing_dxf
from terrain.files.drawing_paper import FACES
from terrain.files.formats import need_libraries
from terrain.files.job import Job
from terrain.grid import Array
from terrain.papers import scales
from terrain.site.read import read_site
from terrain.survey.measured import ReadOptions
from terrain.survey.readers.read import read_measured
from terrain.units import unit_length


@pytest.fixture(scope="module")
def drawing(folder: Path) -> Any:
    """The DXF as another library reads it."""
    return ezdxf.readfile(folder / "yard.dxf")


def asked(job: Job, **more: Any) -> ReadOptions:
    return ReadOptions(job.site.units, job.site.units, **more)


def surveyed(job: Job) -> Array:
    return job.site.survey.shots / job.unit


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


@pytest.mark.usefixtures("forked_readers")
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


@pytest.mark.slow
def test_the_drawing_opens_on_what_is_drawn_with_a_sheet_to_a_round_scale(job: Job, drawing: Any) -> None:
    drawn = ezdxf.bbox.extents(drawing.modelspace())
    for corner, told in ((drawn.extmin, "$EXTMIN"), (drawn.extmax, "$EXTMAX")):
        assert drawing.header[told][:2] == pytest.approx(tuple(corner)[:2], abs=0.05 / job.unit)
    assert all(drawing.layouts.get("sheet").viewports()[1].is_frozen(layer) for layer in FACES)  # faces hide lines
    (screen,) = drawing.viewports.get("*Active")
    assert tuple(screen.dxf.center)[:2] == pytest.approx(tuple(drawn.center)[:2], abs=0.05 / job.unit)
    assert max(drawn.size.x, drawn.size.y) < screen.dxf.height < 1.2 * max(drawn.size.x, drawn.size.y)
    sheet = drawing.layouts.get("sheet")
    view = sheet.viewports()[1]  # the first is the paper itself
    paper_unit = {"ft": 0.0254, "m": 0.001}[job.site.units]  # inches, millimetres
    ratio = view.dxf.view_height * job.unit / (view.dxf.height * paper_unit)
    assert min(abs(ratio / scale.ratio - 1.0) for scale in scales(job.site.units)) < 1e-9
    shown = ezdxf.math.BoundingBox2d(view.get_modelspace_limits()[n : n + 2] for n in (0, 2))
    assert shown.contains(ezdxf.math.BoundingBox2d([drawn.extmin, drawn.extmax]))
    assert any(
        f"1:{ratio:.0f}" in word.dxf.text or f"= {ratio / 12:.0f} ft" in word.dxf.text for word in sheet.query("TEXT")
    )


@pytest.mark.slow
def test_another_renderer_draws_the_outline_on_the_sheet_where_the_scale_puts_it(job: Job, drawing: Any) -> None:
    from ezdxf.addons.drawing import Frontend, RenderContext
    from ezdxf.addons.drawing.recorder import Recorder

    recorder = Recorder()
    Frontend(RenderContext(drawing), recorder).draw_layout(drawing.layouts.get("sheet"), finalize=True)
    by_layer: dict[str, list[Any]] = {}
    for record, properties in recorder.player().recordings():
        by_layer.setdefault(properties.layer, []).append(record.bbox())
    box = ezdxf.math.BoundingBox2d(corner for found in by_layer["outline"] for corner in (found.extmin, found.extmax))
    view = drawing.layouts.get("sheet").viewports()[1]
    west, south, east, north = (value / job.unit for value in job.site.bed.outline.bounds)
    size = view.dxf.height / view.dxf.view_height
    assert (box.size.x, box.size.y) == pytest.approx((size * (east - west), size * (north - south)), rel=1e-6)


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


@pytest.mark.usefixtures("forked_readers")
def test_our_reader_finds_the_heights_and_their_unit(job: Job, folder: Path) -> None:
    found = read_measured(folder / "proposed.tif", "proposed.tif", asked(job, most=10**7))
    assert len(found.shots) == job.ground.grid.nx * job.ground.grid.ny
    assert job.ground.grid.sample(job.proposal.elevation, found.shots[:, :2]) == pytest.approx(
        found.shots[:, 2], abs=2e-5
    )
    assert not [note for note in found.notes if "does not name" in note]
    other = "m" if job.site.units == "ft" else "ft"
    converted = read_measured(folder / "proposed.tif", "proposed.tif", ReadOptions(other, other, most=10**7))
    assert converted.shots == pytest.approx(found.shots, abs=1e-9)


# Features


def features(folder: Path, name: str) -> dict[str, Any]:
    return json.loads((folder / f"{name}.local.json").read_text(encoding="utf-8"))


def test_geojson_holds_bed_contours_and_findings(job: Job, folder: Path) -> None:
    (bed,) = features(folder, "bed")["features"]
    area = shape(bed["geometry"])
    assert area.area * job.unit**2 == pytest.approx(job.site.bed.outline.area, rel=1e-6)
    assert area.exterior.is_ccw  # RFC 7946, section 3.1.6
    lines = features(folder, "contours")
    assert lines["crs"] is None  # GJ2008, section 3: no reference can be assumed (from memory)
    assert "no longitude and latitude" in lines["note"]
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
    found = read_measured(folder / "shots.local.json", "shots.local.json", asked(job))
    assert found.shots / job.unit == pytest.approx(surveyed(job), abs=TINY)
    assert (found.names, found.codes) == (job.site.survey.names, job.site.survey.codes)


# Tables


def test_our_reader_finds_the_survey_in_the_table(job: Job, folder: Path) -> None:
    found = read_measured(folder / "points.csv", "points.csv", asked(job))
    assert found.shots / job.unit == pytest.approx(surveyed(job), abs=TINY)
    assert (found.names, found.codes) == (job.site.survey.names, job.site.survey.codes)


def design_points(folder: Path) -> list[dict[str, str]]:
    return list(csv.DictReader((folder / "design.csv").read_text(encoding="utf-8").splitlines()))


def test_design_points_give_the_proposed_grade(job: Job, folder: Path) -> None:
    table, unit = design_points(folder), job.site.units
    places = np.array([(float(row[f"x ({unit})"]), float(row[f"y ({unit})"])) for row in table]) * job.unit
    figures = {
        key: np.array([float(row[f"{key} ({unit})"]) for row in table]) for key in ("elevation", "existing", "fill")
    }
    grade = job.ground.grid.sample(job.proposal.elevation, places)
    assert figures["elevation"] * job.unit == pytest.approx(grade, abs=1e-5)
    assert figures["fill"] == pytest.approx(figures["elevation"] - figures["existing"], abs=3 * TINY)
    assert {row["code"] for row in table} == {"edge of bed", "crest", "finished grade"}
    assert len(table) > 20


def test_the_site_reads_again_from_what_was_written(job: Job, folder: Path, root: Path) -> None:
    """The bed and the shots as exported make the same yard as the files they came from."""
    text = (root / SITES[job.site.units]).read_text(encoding="utf-8")
    for name, new in (("shots.csv", "points.csv"), ("bed.csv", "bed.local.json"), ("bed.geojson", "bed.local.json")):
        text = text.replace(f'"{name}"', f'"{new}"')
    (folder / "again.toml").write_text(text, encoding="utf-8")
    again = read_site(folder / "again.toml")
    assert again.survey.shots == pytest.approx(job.site.survey.shots, abs=1e-6)
    assert again.bed.outline.symmetric_difference(job.site.bed.outline).area < 1e-4


@pytest.mark.usefixtures("forked_readers")
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
    with pytest.raises(InputError, match=rf"--to {name}.*{library}.*\. Install it") as told:
        need_libraries([name])
    assert how_to_install("exchange") in str(told.value)
    need_libraries(["glb", "svg"])


def test_the_unit_of_a_job_is_that_of_its_survey(job: Job) -> None:
    assert job.unit == unit_length(job.site.units)
