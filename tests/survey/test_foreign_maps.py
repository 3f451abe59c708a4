"""Map files of other writers come to the survey's plane where the library of systems has them, units and axes right."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pyproj
import pytest
import shapely
from foreign_maps import AREAS, HEIGHTS, LONLAT, POINTS, RING, ForeignMap, kml_points

from terrain.earth import Located
from terrain.earth.laid import MapFix, laid_by_bearing, named_system
from terrain.errors import InputError
from terrain.grid import Array
from terrain.site.outline import read_outline
from terrain.site.read import build_site
from terrain.survey.files import Folder
from terrain.survey.lines import read_line
from terrain.survey.measured import Measured, ReadOptions
from terrain.survey.readers.read import read_measured

OWN = laid_by_bearing(MapFix("A", (100.0, 50.0), (-93.09, 44.95)), 0.35, "m")
UTM = named_system("EPSG:26915", "m", "crs")


def expected(located: Located, lonlat: Array) -> Array:
    """Metres in the survey, by the library of systems from the located system's text alone."""
    to_plane = pyproj.Transformer.from_crs(4326, pyproj.CRS(located.system), always_xy=True)
    return np.column_stack(to_plane.transform(*lonlat.T))


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("foreign")
    for one in (*POINTS, *AREAS):
        one.write(folder / one.name)
    return folder


def read(path: Path, located: Located | None = OWN, units: str = "m") -> Measured:
    asked = ReadOptions(units, units, located=located)  # type: ignore[arg-type]
    return read_measured(path, path.name, asked)


def test_there_are_twenty_and_more() -> None:
    assert len({one.name for one in (*POINTS, *AREAS)}) >= 20


@pytest.mark.usefixtures("forked_readers")
@pytest.mark.parametrize("located", [OWN, UTM], ids=["own plane", "registered"])
@pytest.mark.parametrize("foreign", POINTS, ids=lambda one: one.name)
def test_shots_of_a_foreign_map_lie_where_they_were_measured(
    foreign: ForeignMap, located: Located, written: Path
) -> None:
    found = read(written / foreign.name, located)
    off = found.shots[:, :2] - expected(located, LONLAT)
    assert np.hypot(*off.T).max() < foreign.off
    if "gdal.kml" not in foreign.name:  # its writer puts values under names of its own
        assert found.shots[:, 2] == pytest.approx(HEIGHTS, abs=1e-6)
    assert list(found.names) == [f"S{k}" for k in range(9)]
    told = [note for note in found.notes if "were brought to" in note]
    assert told or located is UTM


@pytest.mark.usefixtures("forked_readers")
@pytest.mark.parametrize("foreign", AREAS, ids=lambda one: one.name)
def test_an_area_of_a_foreign_map_makes_the_bed(foreign: ForeignMap, written: Path) -> None:
    folder = Folder(written, located=OWN)
    outline = read_outline(foreign.name, "ft", folder)
    meant = shapely.Polygon(expected(OWN, np.array(RING)))
    assert outline.symmetric_difference(meant).area < 0.01 * meant.length
    assert "were brought to" in folder.said[-1]


@pytest.mark.usefixtures("forked_readers")
def test_a_line_of_a_map_makes_a_line(written: Path) -> None:
    line = read_line("walked.gpx", "ft", Folder(written, located=OWN))
    assert np.array(line) == pytest.approx(expected(OWN, np.array(RING)), abs=0.012)


@pytest.mark.usefixtures("forked_readers")
@pytest.mark.parametrize("name", ["rfc.geojson", "hand.kml", "hand.gpx", "wgs84.gpkg", "wgs84.shp"])
def test_longitude_and_latitude_are_refused_where_nobody_said_where_the_yard_is(name: str, written: Path) -> None:
    with pytest.raises(InputError, match=r"near -93\.089\d+, 44\.950\d+, look like degrees .*: crs = .* or place"):
        read(written / name, None)


@pytest.mark.usefixtures("forked_readers")
def test_plane_coordinates_are_taken_as_the_survey_s_where_nobody_said_where_it_is(written: Path) -> None:
    """A file in UTM metres for a site in feet: its lengths are converted, and that is said."""
    found = read(written / "utm.gpkg", None, "ft")
    there = np.column_stack(pyproj.Transformer.from_crs(4326, 26915, always_xy=True).transform(*LONLAT.T))
    assert found.shots[:, :2] == pytest.approx(there, abs=1e-3)
    assert "NAD83 / UTM zone 15N, and were taken as the survey's" in found.notes[-1]


def test_what_it_costs_is_said_and_too_coarse_a_file_is_refused(written: Path) -> None:
    (said,) = read(written / "rfc.geojson", UTM).notes
    assert said.startswith("rfc.geojson: places of WGS 84 were brought to EPSG:26915")
    assert "which may cost 4 m" in said  # the register's accuracy of NAD83 to WGS 84 (EPSG transformation 1188)
    coarse = written / "coarse.geojson"
    rows = ", ".join(f"[{a:.4f}, {b:.4f}]" for a, b in LONLAT)
    coarse.write_text(f'{{"type": "MultiPoint", "coordinates": [{rows}]}}', encoding="utf-8")
    with pytest.raises(InputError, match=r"stand in steps of 11 m\. Accepted: seven decimals"):
        read(coarse)
    finer = written / "finer.geojson"
    rows = ", ".join(f"[{a + 1e-6:.6f}, {b:.6f}]" for a, b in LONLAT)
    finer.write_text(f'{{"type": "MultiPoint", "coordinates": [{rows}]}}', encoding="utf-8")
    assert "its steps are of 0.11 m" in read(finer).notes[0]


@pytest.mark.usefixtures("forked_readers")
def test_a_site_is_read_from_a_phone_s_files_alone(written: Path) -> None:
    """A bed drawn on a phone and shots of a receiver, laid by one known point."""
    site = build_site(
        {
            "name": "invented yard",
            "units": "ft",
            "survey": {
                "shots": "hand.gpx",
                "points": {"A": [0, 0]},
                "place": {"point": "A", "lat": 44.95, "lon": -93.09, "bearing": 0},
            },
            "bed": {"outline": "ogc-area.kml"},
            "berm": {"max_slope": "4:1", "crest": [[20, 25, "12 in"], [30, 30, "10 in"]]},
        },
        written,
    )
    assert site.survey.located is not None
    assert site.survey.shots[:, :2] == pytest.approx(expected_ft(site.survey.located), abs=0.012)
    notes = " ".join(site.survey.notes)
    assert "hand.gpx: a receiver's elevations are good to some metres" in notes
    assert "ogc-area.kml: places of WGS 84 were brought to a plane of the survey" in notes


def expected_ft(located: Located) -> Array:
    return expected(located, LONLAT) * 0.3048


XML = """<?xml version="1.0"?><LandXML xmlns="http://www.landxml.org/schema/LandXML-{version}" version="{version}">
<Units><Imperial linearUnit="{unit}" areaUnit="squareFoot" volumeUnit="cubicFeet" temperatureUnit="fahrenheit"
 pressureUnit="inHG"/></Units><Surfaces>{surfaces}</Surfaces></LandXML>"""
SURFACE = """<Surface name="{name}"><SourceData><Breaklines><Breakline brkType="standard"><PntList3D>
2 1 9 4 3 9.5</PntList3D></Breakline></Breaklines></SourceData><Definition surfType="TIN"><Pnts>
<P id="7">20.0 10.0 100.0</P><P id="9">20.0 40.0 101.0</P><P id="12">50.0 10.0 102.0</P><P id="30">50 40 103</P></Pnts>
<Faces><F n="2 0 0">7 9 12</F><F i="1">9 12 30</F></Faces></Definition></Surface>"""


@pytest.mark.usefixtures("forked_readers")
@pytest.mark.parametrize("version", ["1.0", "1.1", "1.2", "2.0"])
@pytest.mark.parametrize(("unit", "metres"), [("foot", 0.3048), ("USSurveyFoot", 1200.0 / 3937.0)])
def test_a_foreign_surface_gives_its_points_north_first(version: str, unit: str, metres: float, tmp_path: Path) -> None:
    """LandXML schema: P is northing, easting, elevation, called by its id."""
    path = tmp_path / "surface.xml"
    text = XML.format(version=version, unit=unit, surfaces=SURFACE.format(name="topo") + SURFACE.format(name="design"))
    path.write_text(text, encoding="utf-8")
    found = read(path, None, "m")
    points = np.array([(10, 20, 100), (40, 20, 101), (10, 50, 102), (40, 50, 103)]) * metres
    assert found.shots == pytest.approx(points, abs=1e-9)
    assert found.lines[0].points == pytest.approx(np.array([(1, 2, 9), (3, 4, 9.5)]) * metres, abs=1e-9)
    assert 'surface "topo" were taken as shots' in found.notes[-1]
    asked = replace(ReadOptions("ft", "ft"), layers={"shots": ("Design",)})
    assert 'surface "design"' in read_measured(path, path.name, asked).notes[-1]


@pytest.mark.usefixtures("forked_readers")
@pytest.mark.parametrize(
    ("name", "text", "said"),
    [
        ("a.kml", "<!DOCTYPE kml [<!ENTITY a 'b'>]><kml/>", "declares a document type"),
        ("b.kml", "<kml><Placemark>", "line 1: this is not valid XML"),
        ("c.kml", "<gpx/>", "its root is <gpx>, not <kml>"),
        ("d.kml", kml_points().replace("-93.0900123,", "west,", 1), '"west,44.9500077,0" is no place'),
        ("e.gpx", '<gpx><wpt lat="44" lon=""/></gpx>', 'waypoint 1: ", 44, " is no lon, lat and ele'),
        ("f.gpkg", "SQLite format 3", "this is not a GeoPackage"),
        ("g.shp", "shape", "this is not a shapefile"),
        ("h.xml", "<LandXML/>", "it holds 0 surfaces"),
        (
            "i.xml",
            XML.format(version="1.2", unit="foot", surfaces=SURFACE.format(name="a").replace("7 9 12", "7 9 1")),
            'the face "7 9 1" has no three points',
        ),
        (
            "j.xml",
            XML.format(version="1.2", unit="foot", surfaces=SURFACE.format(name="a") + SURFACE.format(name="b")),
            'it holds 2 surfaces: "a", "b"',
        ),
        ("k.kmz", "PK nothing", "not a readable KML file"),
        (
            "l.geojson",
            '{"type": "Point", "coordinates": [1, 2], "crs": {"type": "name", "properties": {"name": "x"}}}',
            "names a system that is not known: x",
        ),
    ],
)
def test_a_spoiled_map_is_refused_in_words(name: str, text: str, said: str, tmp_path: Path) -> None:
    path = tmp_path / name
    path.write_text(text, encoding="utf-8")
    with pytest.raises(InputError, match=said):
        read(path)


@pytest.mark.usefixtures("forked_readers")
def test_a_shapefile_takes_no_link_for_the_file_beside_it(written: Path, tmp_path: Path) -> None:
    for ending in (".shp", ".dbf"):
        (tmp_path / f"s{ending}").write_bytes((written / f"utm{ending}").read_bytes())
    (tmp_path / "s.prj").symlink_to(written / "utm.prj")
    found = read(tmp_path / "s.shp", None)
    assert "no .prj lies beside it" in found.notes[0]
