"""GeoJSON, drawings, point clouds and height grids: coordinates as surveyed, units honoured, nothing dropped unsaid."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from invented_yard import FOOT, SHOTS, SITE, refusal, yard

from terrain.errors import InputError
from terrain.survey.measured import ReadOptions, settled_unit
from terrain.survey.readers.read import read_measured

pytestmark = pytest.mark.usefixtures("forked_readers")
NEAR = 1e-9  # metres
FEET = ReadOptions("ft", "ft")
METRES = ReadOptions("m", "m")
ROWS = [line.split(",") for line in SHOTS.splitlines()[1:]]
XYZ = np.array([[float(cell) for cell in row[1:4]] for row in ROWS])
OUTLINE = [[10, 14], [45, 14], [45, 30], [10, 30]]


def with_shots(name: str, more: str = "") -> str:
    return SITE.replace('"shots.csv"', f'"{name}"\n{more}')


# GeoJSON


def feature(kind: str, coordinates: Any, **properties: Any) -> dict[str, Any]:
    return {
        "type": "Feature",
        "properties": properties,
        "geometry": {"type": kind, "coordinates": coordinates},
    }


def collection(*features: dict[str, Any], **more: Any) -> str:
    return json.dumps({"type": "FeatureCollection", **more, "features": list(features)})


POINTS = [feature("Point", list(map(float, row[1:4])), name=row[0], code=row[4]) for row in ROWS]
FLAT = [feature("Point", [float(r[1]), float(r[2])], Point=r[0], Elev=f"{r[3]} ft", Description=r[4]) for r in ROWS]


@pytest.mark.parametrize("features", [POINTS, FLAT], ids=["third ordinate", "properties"])
def test_geojson_points_are_the_shots_of_a_table(tmp_path: Path, features: list[dict[str, Any]]) -> None:
    survey = yard(tmp_path, with_shots("s.geojson"), {"s.geojson": collection(*features)}).survey
    assert np.abs(survey.shots - XYZ * FOOT).max() <= NEAR
    assert survey.names == ("1", "2", "3", "4", "5")
    assert survey.codes[3] == "wall"


def test_geojson_lines_and_polygons_carry_codes(tmp_path: Path) -> None:
    text = collection(
        *POINTS,
        feature("LineString", [[5, 5, 100.2], [9, 5, 100.4]], code="BL1"),
        feature("Polygon", [[*OUTLINE, OUTLINE[0]]], layer="outline"),
    )
    site = yard(tmp_path, with_shots("s.geojson").replace('outline  = "bed.csv"\n', ""), {"s.geojson": text})
    assert site.bed.outline.area == pytest.approx(35 * 16 * FOOT**2, abs=1e-9)
    assert site.survey.breaklines[0] / FOOT == pytest.approx(np.array([[5, 5, 100.2], [9, 5, 100.4]]), abs=1e-9)


def test_a_reference_that_geojson_names_is_said(tmp_path: Path) -> None:
    crs = {"type": "name", "properties": {"name": "urn:ogc:def:crs:EPSG::2263"}}
    survey = yard(tmp_path, with_shots("s.geojson"), {"s.geojson": collection(*POINTS, crs=crs)}).survey
    assert survey.notes == (
        "s.geojson: the file names the reference urn:ogc:def:crs:EPSG::2263; its coordinates were taken in ft.",
    )


REFUSED_GEOJSON = {
    "degrees": (
        collection(*(feature("Point", [-96.7 + i * 1e-5, 40.8 + i * 2e-5, 360.0]) for i in range(4))),
        "s.geojson: the coordinates, near -96.69998, 40.80003, look like degrees of longitude and latitude, and the "
        "site does not say where on earth it lies. Accepted:",
    ),
    "no elevation": (collection(feature("Point", [1, 2])), "s.geojson point 1: the point has no elevation."),
    "no JSON": ("{", "s.geojson line 1: this is not valid JSON"),
    "another thing": ('{"type": "Topology"}', 's.geojson: a GeoJSON "Topology" is no geometry.'),
    "a position in words": (collection(feature("Point", ["1", 2, 3])), "is not a position [x, y] or [x, y, elevation]"),
    "no features": ('{"type": "FeatureCollection"}', "the GeoJSON FeatureCollection has no features."),
}


@pytest.mark.parametrize("case", REFUSED_GEOJSON)
def test_geojson_that_cannot_be_shots_is_refused(tmp_path: Path, case: str) -> None:
    text, message = REFUSED_GEOJSON[case]
    assert message in refusal(tmp_path, with_shots("s.geojson"), {"s.geojson": text})


# Drawings


def drawing(path: Path, unit: int, scale: float = 1.0, up: float | None = None, extra: bool = True) -> Path:
    ezdxf = pytest.importorskip("ezdxf")
    dxf = ezdxf.new("R2010")
    dxf.header["$INSUNITS"] = unit
    space = dxf.modelspace()
    for row, at in zip(ROWS, XYZ, strict=True):
        east, north, height = at * scale
        space.add_point((east, north, height if up is None else up), dxfattribs={"layer": row[4]})
    if extra:
        space.add_lwpolyline(np.array(OUTLINE) * scale, close=True, dxfattribs={"layer": "OUTLINE"})
        space.add_polyline3d(np.array([[5, 5, 100.2], [9, 5, 100.4]]) * scale, dxfattribs={"layer": "BL1"})
        space.add_line((0, 0, 0), (5, 5, 0), dxfattribs={"layer": "FRAME"})
    dxf.saveas(path)
    return path


def test_a_drawing_gives_points_and_marked_lines(tmp_path: Path) -> None:
    drawing(tmp_path / "s.dxf", 2)
    site = yard(tmp_path, with_shots("s.dxf").replace('outline  = "bed.csv"\n', ""))
    assert np.abs(site.survey.shots - XYZ * FOOT).max() <= NEAR
    assert site.survey.codes[3] == "wall"
    assert site.bed.outline.area == pytest.approx(35 * 16 * FOOT**2, abs=1e-9)
    assert site.survey.breaklines[0] / FOOT == pytest.approx(np.array([[5, 5, 100.2], [9, 5, 100.4]]), abs=1e-9)
    assert site.survey.notes == ("s.dxf: 1 line on FRAME left out.",)


@pytest.mark.parametrize(
    ("unit", "per_foot", "said"), [(1, 12.0, "inches"), (4, 304.8, "millimetres"), (6, 0.3048, "metres")]
)
def test_the_unit_of_a_drawing_is_honoured_and_said(tmp_path: Path, unit: int, per_foot: float, said: str) -> None:
    measured = read_measured(drawing(tmp_path / "s.dxf", unit, per_foot), "s.dxf", FEET)
    assert np.abs(measured.shots - XYZ * FOOT).max() <= 1e-8
    assert measured.notes[0] == f"s.dxf: the coordinates are in {said} and were converted."


def test_a_drawing_without_a_unit_is_taken_in_the_sites_and_said(tmp_path: Path) -> None:
    measured = read_measured(drawing(tmp_path / "s.dxf", 0), "s.dxf", FEET)
    assert measured.notes[0] == "s.dxf: the file does not name the unit of its coordinates; feet were taken."


def test_file_units_stand_against_the_unit_of_a_drawing_and_are_said(tmp_path: Path) -> None:
    drawing(tmp_path / "s.dxf", 1)
    survey = yard(tmp_path, with_shots("s.dxf", 'file_units = "ft"')).survey
    assert np.abs(survey.shots - XYZ * FOOT).max() <= NEAR
    assert (
        "s.dxf: the file names inches for its coordinates, but file_units says feet, which were taken." in survey.notes
    )


def test_layers_are_chosen_in_the_site_file(tmp_path: Path) -> None:
    ezdxf = pytest.importorskip("ezdxf")
    dxf = ezdxf.new("R2010")
    dxf.header["$INSUNITS"] = 2
    space = dxf.modelspace()
    for at in XYZ:
        space.add_point(at, dxfattribs={"layer": "SPOTS"})
    space.add_point((1, 1, 500), dxfattribs={"layer": "ROOF"})
    space.add_polyline3d([(5, 5, 100.2), (9, 5, 100.4)], dxfattribs={"layer": "KERB"})
    space.add_lwpolyline(OUTLINE, close=True, dxfattribs={"layer": "BED"})
    dxf.saveas(tmp_path / "s.dxf")
    layers = 'layers = { shots = ["spots"], breaklines = ["KERB"], outline = "BED" }'
    site = yard(tmp_path, with_shots("s.dxf", layers).replace('outline  = "bed.csv"\n', ""))
    assert len(site.survey.shots) == 5
    assert len(site.survey.breaklines) == 1
    assert site.bed.outline.area == pytest.approx(35 * 16 * FOOT**2, abs=1e-9)
    assert 'nothing is drawn on a layer "SPOT". Did you mean "SPOTS"? Its layers: BED, KERB, ROOF, SPOTS.' in refusal(
        tmp_path, with_shots("s.dxf", layers.replace("spots", "SPOT"))
    )


def test_a_drawing_without_elevations_is_refused(tmp_path: Path) -> None:
    drawing(tmp_path / "s.dxf", 2, up=0.0)
    assert "s.dxf: all 5 points stand at elevation 0: the drawing carries no elevations." in refusal(
        tmp_path, with_shots("s.dxf")
    )


def test_a_drawing_with_figures_only_says_what_is_read(tmp_path: Path) -> None:
    ezdxf = pytest.importorskip("ezdxf")
    drawing = ezdxf.new()
    drawing.modelspace().add_text("100.25").set_placement((5.0, 5.0))
    drawing.saveas(tmp_path / "s.dxf")
    message = refusal(tmp_path, with_shots("s.dxf"))
    assert "s.dxf: it holds no points and no symbols with an elevation; figures that are only written" in message
    assert (
        'Accepted: points, symbols with an elevation, or corners of lines, by layers = { shots = ["SPOTS"] }.'
        in message
    )


def test_a_geojson_of_lines_alone_is_refused(tmp_path: Path) -> None:
    line = {"type": "LineString", "coordinates": [[0, 0, 100], [9, 0, 100]]}
    thing = {"type": "Feature", "properties": {"code": "BL1"}, "geometry": line}
    message = refusal(tmp_path, with_shots("s.geojson"), {"s.geojson": json.dumps(thing)})
    assert "s.geojson: it holds no points, though it holds 1 marked line. Accepted: points, each with" in message


def test_a_file_that_is_no_drawing_is_refused(tmp_path: Path) -> None:
    pytest.importorskip("ezdxf")
    assert "s.dxf: this is not a readable DXF drawing" in refusal(tmp_path, with_shots("s.dxf"), {"s.dxf": "x,y\n"})


# Breaklines of their own


@pytest.mark.parametrize(
    ("written", "files"),
    [
        ("[[[5, 5, 100.2], [9, 5, 100.4]]]", {}),
        ('"k.csv"', {"k.csv": "line,x,y,elevation\nkerb,5,5,100.2\nkerb,9,5,100.4\n"}),
        ('"k.geojson"', {"k.geojson": collection(feature("LineString", [[5, 5, 100.2], [9, 5, 100.4]]))}),
    ],
    ids=["inline", "table", "geojson"],
)
def test_breaklines_come_from_lists_and_files(tmp_path: Path, written: str, files: dict[str, str | bytes]) -> None:
    survey = yard(tmp_path, with_shots("shots.csv", f"breaklines = {written}"), files).survey
    assert survey.breaklines[0] / FOOT == pytest.approx(np.array([[5, 5, 100.2], [9, 5, 100.4]]), abs=1e-9)
    assert len(survey.shots) == 5


def test_the_unit_of_a_drawing_of_breaklines_is_said(tmp_path: Path) -> None:
    drawing(tmp_path / "k.dxf", 6, FOOT)
    survey = yard(tmp_path, with_shots("shots.csv", 'breaklines = "k.dxf"\nlayers = { breaklines = ["BL1"] }')).survey
    assert survey.breaklines[0] / FOOT == pytest.approx(np.array([[5, 5, 100.2], [9, 5, 100.4]]), abs=1e-9)
    assert "k.dxf: the coordinates are in metres and were converted." in survey.notes


def test_breaklines_may_cross_at_one_elevation(tmp_path: Path) -> None:
    lines = "breaklines = [[[5, 5, 100], [9, 5, 100]], [[7, 3, 99.5], [7, 7, 100.5]]]"
    assert len(yard(tmp_path, with_shots("shots.csv", lines)).survey.breaklines) == 2


@pytest.mark.parametrize(
    "line",
    [
        pytest.param("[[5, 5, 100], [20, 20, 100], [20, 5, 101], [5, 5, 100]]", id="a ring"),
        pytest.param("[[5, 5, 100], [20, 20, 100], [20, 5, 100], [5, 20, 100]]", id="a level loop across itself"),
        pytest.param("[[5, 5, 100], [9, 5, 100], [9, 5, 100], [12, 5, 102]]", id="a point taken twice"),
        pytest.param("[[45, 40, 101], [70, 60, 102]]", id="partly off the shots"),
    ],
)
def test_a_line_may_meet_itself_at_one_elevation(tmp_path: Path, line: str) -> None:
    assert len(yard(tmp_path, with_shots("shots.csv", f"breaklines = [{line}]")).survey.breaklines) == 1


def test_breaklines_may_name_points_and_a_drawing_gives_every_line(tmp_path: Path) -> None:
    survey = yard(tmp_path, with_shots("shots.csv", 'breaklines = [["1", "5"], ["4", "3"]]')).survey
    assert survey.breaklines[0] == pytest.approx(survey.shots[[0, 4]], abs=NEAR)
    drawing(tmp_path / "k.dxf", 2, extra=True)
    named = 'layers = { breaklines = ["BL1"] }\nbreaklines = "k.dxf"'
    assert len(yard(tmp_path, with_shots("shots.csv", named)).survey.breaklines) == 1


@pytest.mark.parametrize(
    ("written", "message"),
    [
        ('[["1", "55"]]', 'site.toml [survey] breaklines: "55" is no point of the survey. Did you mean "5"?'),
        ("[[[1, 2], [3, 4]]]", "site.toml [survey] breaklines: line 1: [1, 2] is not a point."),
        ('[["1"]]', "site.toml [survey] breaklines: line 1, ['1'], is not a list of two or more points."),
        ('"none.csv"', 'site.toml [survey] breaklines: there is no file "none.csv"'),
        (
            "[[[5, 5, 0], [9, 5, 0]]]",
            "line 1 stands at 0.00 ft to 0.00 ft, far from the shots' 100.00 ft to 101.40 ft.",
        ),
        (
            "[[[5, 5, 100], [9, 5, 100]], [[7, 3, 101], [7, 8, 101]]]",
            "lines 1 and 2 cross at x 7.00, y 5.00 at two elevations, 100.00 ft and 101.00 ft. Part the lines,",
        ),
        ("[[[5, 5, 100], [5, 5, 101]]]", "site.toml [survey] breaklines: line 1 has no length in plan."),
        (
            "[[[5, 5, 100], [20, 20, 100], [20, 5, 101], [5, 20, 103]]]",
            "breaklines line 1: it comes to x 12.50, y 12.50 at two elevations, 100.00 ft and 102.00 ft. Give",
        ),
        (
            "[[[5, 5, 100], [20, 20, 100], [20, 5, 101], [5, 5, 102]]]",
            "breaklines line 1: it comes to x 5.00, y 5.00 at two elevations, 100.00 ft and 102.00 ft.",
        ),
        (
            "[[[5, 5, 100], [9, 5, 100], [9, 5, 102], [12, 5, 102]]]",
            "breaklines line 1: it comes to x 9.00, y 5.00 at two elevations, 100.00 ft and 102.00 ft.",
        ),
        (
            "[[[150, 5, 100], [170, 5, 100]]]",
            "breaklines line 1: it lies wholly off the shots, 100 ft from them. Accepted: a line in the",
        ),
        ("7", "site.toml [survey] breaklines: 7 is neither a file nor a list of lines."),
    ],
)
def test_breaklines_that_are_none_are_refused(tmp_path: Path, written: str, message: str) -> None:
    assert message in refusal(tmp_path, with_shots("shots.csv", f"breaklines = {written}"))


# What all share


@pytest.mark.parametrize("name", ["s.dwg", "s.xls", "s.ods"])
def test_a_format_that_no_reader_takes_is_refused_with_the_way_out(tmp_path: Path, name: str) -> None:
    message = refusal(tmp_path, with_shots(name), {name: b"anything"})
    assert f'{name}: files that end in ".{name[2:]}" are not read.' in message


def test_a_unit_that_is_stated_beats_the_one_that_is_named() -> None:
    factor, notes = settled_unit(1.0, ReadOptions("ft", "ft", stated=True), "f", "heights")
    assert factor == pytest.approx(FOOT, rel=1e-12)
    assert notes == ("f: the file names metres for its heights, but file_units says feet, which were taken.",)


def test_an_input_error_of_a_reader_names_the_file(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r'none\.dxf: there is no such file \(looked for "'):
        read_measured(tmp_path / "none.dxf", "none.dxf", FEET)
