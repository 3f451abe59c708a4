"""An outline, a measurement file or a site file that cannot be used is refused in words."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from invented_yard import refusal, spoiled, write_yard

from terrain.errors import InputError
from terrain.site.read import build_site, read_site

OUTLINES: dict[str, tuple[str, str, str]] = {
    "missing file": ("bed.shp", "", 'site.toml [bed] outline: there is no file "bed.shp" (looked for "bed.shp")'),
    "crossing in a table": (
        "bed.csv",
        "x,y\n10,14\n45,30\n45,14\n10,30\n",
        "bed.csv: the outline crosses or touches itself at x 27.50, y 22.00.",
    ),
    "no y": ("bed.csv", "x,z\n1,2\n", "bed.csv row 1: no column gives the y; the columns were taken so"),
    "text for a number": ("bed.csv", "x,y\n10,14\n45,here\n", 'bed.csv row 3 y: "here" is not a length.'),
    "two points": (
        "bed.csv",
        "x,y\n10,14\n45,14\n",
        "bed.csv: an outline needs at least 3 different points; this has 2.",
    ),
    "broken GeoJSON": ("bed.geojson", '{"type": "Polygon",\n', "bed.geojson line 2: this is not valid JSON:"),
    "a line": (
        "bed.geojson",
        '{"type": "LineString", "coordinates": []}',
        'bed.geojson: a GeoJSON "LineString" is not a polygon.',
    ),
    "no rings": (
        "bed.geojson",
        '{"type": "Polygon", "coordinates": []}',
        "bed.geojson: the GeoJSON polygon has no coordinates.",
    ),
    "two polygons": (
        "bed.geojson",
        '{"type": "MultiPolygon", "coordinates": [[[[1, 1]]], [[[1, 1]]]]}',
        "bed.geojson: the GeoJSON MultiPolygon holds 2 shapes.",
    ),
    "no features": (
        "bed.geojson",
        '{"type": "FeatureCollection"}',
        "bed.geojson: the GeoJSON FeatureCollection holds 0 shapes.",
    ),
    "no geometry": (
        "bed.geojson",
        '{"type": "Feature", "geometry": null}',
        "bed.geojson: the GeoJSON Feature holds 0 shapes.",
    ),
    "hole outside": (
        "bed.geojson",
        '{"type": "Polygon", "coordinates": [[[10,14],[45,14],[45,30],[10,30]], [[1,1],[2,1],[2,2]]]}',
        "bed.geojson: a hole of the outline does not lie inside it at x",
    ),
}


@pytest.mark.parametrize("case", OUTLINES)
def test_an_outline_that_cannot_be_used_is_refused(tmp_path: Path, case: str) -> None:
    name, content, message = OUTLINES[case]
    said = refusal(tmp_path, spoiled("bed.csv", name), {name: content} if content else {})
    assert message in said


def test_a_crest_point_in_a_hole_of_the_bed_is_refused(tmp_path: Path) -> None:
    hole = '{"type": "Polygon", "coordinates": [[[10,14],[45,14],[45,30],[10,30]], [[25,23],[27,23],[27,25],[25,25]]]}'
    said = refusal(tmp_path, spoiled("bed.csv", "bed.json"), {"bed.json": hole})
    assert "site.toml [berm] crest point 2: x 26.00, y 24.00 lies in a hole of the bed, 1 ft from it." in said


def test_a_bed_in_feet_on_shots_in_metres_is_called_a_mix(tmp_path: Path) -> None:
    shots = "x,y,z\n0,0,30\n15.2,0,30.2\n15.2,13.7,30.5\n0,13.7,30.3\n"
    text = spoiled('units = "ft"', 'units = "m"').replace("[grid]\ncell", "[grid]\n# cell")
    said = refusal(tmp_path, text, {"shots.csv": shots, "bed.csv": "x,y\n10,12\n45,12\n45,30\n10,30\n"})
    assert (
        "site.toml [bed] outline: only 1% of the bed lies on the surveyed ground. Its coordinates times 0.3048" in said
    )


def test_a_bed_that_is_partly_off_the_survey_is_worked_with(tmp_path: Path) -> None:
    write_yard(tmp_path, files={"bed.csv": "x,y\n10,14\n70,14\n70,30\n10,30\n"})
    assert read_site(tmp_path / "site.toml").bed.outline.bounds[2] > 21.0


@pytest.mark.parametrize("shots", ["here.csv", "deep/here.csv"])
def test_a_measurement_file_that_is_not_there_is_named(tmp_path: Path, shots: str) -> None:
    said = refusal(tmp_path, spoiled("shots.csv", shots))
    assert said == (
        f'site.toml [survey] shots: there is no file "{shots}" (looked for "{shots}"). '
        "Give its path from the folder of the site file."
    )


def test_a_site_file_that_is_not_there_is_named(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"none\.toml: there is no such file .* Give the path of a site file, such as"):
        read_site(tmp_path / "none.toml")


def test_a_folder_in_place_of_a_site_file_is_named_with_the_file_in_it(tmp_path: Path) -> None:
    write_yard(tmp_path)
    with pytest.raises(InputError, match=r'this is a folder, not a file\. Did you mean ".*site\.toml"\?'):
        read_site(tmp_path)


def test_a_folder_in_place_of_a_table_is_named(tmp_path: Path) -> None:
    (tmp_path / "data").mkdir()
    assert refusal(tmp_path, spoiled("shots.csv", "data")).startswith(
        'site.toml [survey] shots: "data" is a folder, not a file.'
    )


@pytest.mark.skipif(os.geteuid() == 0, reason="everything is readable to the superuser")
def test_a_file_that_may_not_be_read_is_named(tmp_path: Path) -> None:
    path = write_yard(tmp_path)
    (tmp_path / "shots.csv").chmod(0)
    with pytest.raises(InputError, match=r"shots: the file \"shots\.csv\" cannot be read: Permission denied\."):
        read_site(path)


@pytest.mark.parametrize(
    ("content", "message"),
    [(b"\xfe\x00n\0", "is not UTF-8 text"), (b"\xff\xfen", "is not UTF-8 text"), (b"%PDF-1.7", "this is a PDF")],
)
def test_a_site_file_that_is_not_text_is_named(tmp_path: Path, content: bytes, message: str) -> None:
    path = tmp_path / "site.toml"
    path.write_bytes(content)
    with pytest.raises(InputError, match=message):
        read_site(path)


def test_an_empty_site_file_says_what_comes_first(tmp_path: Path) -> None:
    path = tmp_path / "site.toml"
    path.write_text("")
    with pytest.raises(InputError, match=r'units: this key is missing\. Accepted: units = "ft"'):
        read_site(path)


def test_a_site_without_a_survey_says_so() -> None:
    with pytest.raises(
        InputError, match=r'site \[survey\]: this is missing\. Add \[survey\] with shots = "shots\.csv"'
    ):
        build_site({"name": "x", "units": "m"})
