"""Ground from point clouds and height grids: what is read of them, in which units, and what is refused."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from invented_yard import FOOT, SITE, refusal, yard

from terrain.earth.located import SURVEY_FOOT
from terrain.survey.measured import ReadOptions
from terrain.survey.readers.read import read_measured
from terrain.survey.readers.reference import units_of_text
from terrain.survey.readers.thinning import ThinnedShots, Thinning

pytestmark = pytest.mark.usefixtures("forked_readers")
FEET = ReadOptions("ft", "ft")
METRES = ReadOptions("m", "m")


def with_shots(name: str, more: str = "") -> str:
    return SITE.replace('"shots.csv"', f'"{name}"\n{more}')


# Point clouds


def cloud(path: Path, points: np.ndarray, classes: np.ndarray, wkt: str = "") -> Path:
    laspy = pytest.importorskip("laspy")
    header = laspy.LasHeader(point_format=6, version="1.4")
    header.scales, header.offsets = [0.001] * 3, np.floor(points.min(axis=0))
    if wkt:
        header.vlrs.append(laspy.vlrs.known.WktCoordinateSystemVlr(wkt))
    las = laspy.LasData(header)
    las.x, las.y, las.z = points.T
    las.classification = classes
    las.write(path)
    return path


def plane(count: int, seed: int = 3) -> np.ndarray:
    """Points of one plane on the yard, feet."""
    plan = np.random.default_rng(seed).uniform((0, 0), (50, 45), (count, 2))
    return np.column_stack([plan, 100.0 + 0.02 * plan[:, 0] + 0.03 * plan[:, 1]])


PLANE_FT = 'LOCAL_CS["yard",UNIT["foot",0.3048]]'
PLANE_US = 'PROJCS["plane",GEOGCS["g"],UNIT["US survey foot",0.304800609601219]]'
DEGREES = 'GEOGCS["g",UNIT["degree",0.0174532925199433]]'


@pytest.mark.parametrize("ending", ["las", "laz"])
def test_only_ground_is_read_and_the_means_stay_on_the_plane(tmp_path: Path, ending: str) -> None:
    pytest.importorskip("lazrs")
    points = plane(4000)
    classes = np.where(np.arange(4000) % 4 == 0, 5, 2)
    points[classes == 5, 2] += 30.0
    cloud(tmp_path / f"s.{ending}", points, classes, PLANE_FT)
    survey = yard(tmp_path, with_shots(f"s.{ending}", "thin_to = 300")).survey
    feet = survey.shots / FOOT
    assert 200 < len(feet) <= 300
    off = feet[:, 2] - (100.0 + 0.02 * feet[:, 0] + 0.03 * feet[:, 1])
    assert np.abs(off).max() < 2e-3  # the file rounds to 0.001 ft
    assert "3,000 of 4,000 points are of class 2 (ground); the shots are their means in" in " ".join(survey.notes)


def test_a_cloud_in_us_survey_feet_lies_on_the_coordinates_of_a_site_in_feet(tmp_path: Path) -> None:
    points = plane(50) + np.array([2_445_000.0, 603_000.0, 0.0])
    path = cloud(tmp_path / "s.las", points, np.full(50, 2), PLANE_US)
    measured = read_measured(path, "s.las", FEET)
    assert np.abs(measured.shots / FOOT - points).max() < 1e-3
    assert measured.notes[0] == (
        "s.las: the coordinates are in US survey feet, which were taken as the feet of the site."
    )
    metric = read_measured(path, "s.las", METRES)
    assert np.abs(metric.shots / SURVEY_FOOT - points).max() < 1e-3
    assert metric.notes[0] == "s.las: the coordinates are in US survey feet and were converted."


def test_a_cloud_without_ground_says_what_it_has(tmp_path: Path) -> None:
    cloud(tmp_path / "s.las", plane(20), np.full(20, 1))
    assert (
        "s.las: no point is of class 2 (ground); points by class: 1 (unclassified): 20. Name the ground's classes"
        in refusal(tmp_path, with_shots("s.las"))
    )
    assert len(yard(tmp_path, with_shots("s.las", "classes = [1]")).survey.shots) == 20


def test_a_cloud_in_degrees_is_refused(tmp_path: Path) -> None:
    cloud(tmp_path / "s.las", plane(20), np.full(20, 2), DEGREES)
    assert "s.las: its coordinates are degrees of longitude and latitude." in refusal(tmp_path, with_shots("s.las"))


def test_a_cloud_is_read_within_the_stated_distance_of_the_bed(tmp_path: Path) -> None:
    cloud(tmp_path / "s.las", plane(2000), np.full(2000, 2), PLANE_FT)
    survey = yard(tmp_path, with_shots("s.las", "within = 5")).survey
    feet = survey.shots / FOOT
    assert feet[:, 1].min() > 9.0 - 1e-6
    assert feet[:, 1].max() < 35.0 + 1e-6
    assert "site.toml [survey] within: the bed outline comes from the survey itself" in refusal(
        tmp_path, with_shots("s.las", "within = 5").replace('"bed.csv"', '"codes"')
    )


def test_a_file_that_is_no_cloud_is_refused(tmp_path: Path) -> None:
    pytest.importorskip("laspy")
    assert "s.las: this is not a readable LAS point cloud" in refusal(
        tmp_path, with_shots("s.las"), {"s.las": "x,y\n1,2\n"}
    )


# Height grids


def height_grid(path: Path, crs: str | None, unit: str = "", cell: float = 1.0) -> Path:
    rasterio = pytest.importorskip("rasterio")
    north, east = np.mgrid[44.5:-0.5:-1, 0.5:50.5]
    heights = (100.0 + 0.02 * east + 0.03 * north).astype("float32")
    heights[0, :5] = -9999.0
    transform = rasterio.transform.from_origin(0.0, 45.0 * cell, cell, cell)
    shape = {"height": 45, "width": 50, "count": 1, "dtype": "float32", "nodata": -9999.0}
    with rasterio.open(path, "w", driver="GTiff", crs=crs, transform=transform, **shape) as grid:
        grid.write(heights, 1)
        if unit:
            grid.units = (unit,)
    return path


@pytest.mark.filterwarnings("ignore")
def test_a_height_grid_gives_the_middles_of_its_cells(tmp_path: Path) -> None:
    path = height_grid(tmp_path / "s.tif", "EPSG:32614", "m")
    measured = read_measured(path, "s.tif", ReadOptions("m", "m", most=5000))
    assert len(measured.shots) == 45 * 50 - 5
    off = measured.shots[:, 2] - (100.0 + 0.02 * measured.shots[:, 0] + 0.03 * measured.shots[:, 1])
    assert np.abs(off).max() < 1e-4  # single precision
    assert measured.notes == ("s.tif: 2,245 cells have a height; each is a shot.",)


@pytest.mark.filterwarnings("ignore")
def test_the_units_of_a_height_grid_are_honoured_and_said(tmp_path: Path) -> None:
    path = height_grid(tmp_path / "s.tif", "EPSG:2263", "m")
    measured = read_measured(path, "s.tif", ReadOptions("m", "m", most=5000))
    assert np.ptp(measured.shots[:, 0]) == pytest.approx(49 * SURVEY_FOOT, abs=1e-9)
    assert measured.shots[:, 2].max() == pytest.approx(102.3, abs=0.1)
    assert measured.notes[0] == "s.tif: the coordinates are in US survey feet and were converted."
    untagged = read_measured(height_grid(tmp_path / "u.tif", "EPSG:32614"), "u.tif", FEET)
    assert "u.tif: the file does not name the unit of its heights; that of its places was taken." in untagged.notes


@pytest.mark.filterwarnings("ignore")
def test_a_height_grid_in_degrees_is_refused(tmp_path: Path) -> None:
    height_grid(tmp_path / "s.tif", "EPSG:4326")
    assert "s.tif: its places are degrees of longitude and latitude." in refusal(tmp_path, with_shots("s.tif"))


def thinned(points: np.ndarray, most: int, chunks: int = 1) -> ThinnedShots:
    thinning = Thinning(most)
    for part in np.array_split(points, chunks):
        thinning.add(part)
    return thinning.shots()


def test_thinning_keeps_every_point_in_one_mean() -> None:
    points = plane(5000)
    all_of_it = thinned(points, 400)
    assert 200 < len(all_of_it.points) <= 400
    assert all_of_it.cell > 0.0
    few = thinned(points[:30], 400)
    assert np.array_equal(few.points, points[:30])
    assert few.cell == 0.0


@pytest.mark.parametrize("most", [1, 40, 1000, 3000])
@pytest.mark.parametrize("far", [0.0, 2_445_000.0])
def test_a_cloud_gives_the_same_shots_in_any_chunks(most: int, far: float) -> None:
    points = plane(3001, seed=most) + np.array([far, -far, 0.0])
    rough = points + np.random.default_rng(1).normal(0.0, 0.3, points.shape)
    whole, parts = thinned(rough, most), thinned(rough, most, chunks=7)
    assert len(whole.points) <= most
    assert np.allclose(whole.points, parts.points, rtol=0.0, atol=1e-6)
    assert (whole.cell, round(whole.scatter, 6)) == (parts.cell, round(parts.scatter, 6))


def test_a_few_stray_points_do_not_make_the_squares_of_a_yard_larger() -> None:
    stray = np.column_stack([np.linspace(-9e6, 9e6, 20), np.linspace(8e5, -7e6, 20), np.zeros(20)])
    yard_alone, with_stray = thinned(plane(20_000), 400), thinned(np.vstack([plane(20_000), stray]), 420)
    assert with_stray.cell <= 1.15 * yard_alone.cell


def test_units_of_well_known_text_are_those_of_plane_and_height() -> None:
    text = f'COMPD_CS["both",{PLANE_US},VERT_CS["up",UNIT["metre",1]]]'
    assert units_of_text(text).plane == pytest.approx(SURVEY_FOOT, rel=1e-12)
    assert units_of_text(text).height == pytest.approx(1.0, rel=1e-12)
    assert units_of_text(DEGREES).degrees
    assert not units_of_text("] ( rubbish [").degrees
