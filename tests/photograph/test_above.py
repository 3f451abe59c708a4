"""A picture from above lies under the plan where its marks, or its own file, say: colours are found at their places."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pyproj
import pytest
import rasterio
from PIL import Image

from terrain.earth.laid import MapFix, laid_by_bearing
from terrain.errors import InputError
from terrain.flow import Study, run_site
from terrain.grid import Array
from terrain.photograph.above import picture_above
from terrain.site.read import build_site
from viewer.page.subject import Subject
from viewer.pictures.client_page import client_pages
from viewer.sheets.air import on_sheet
from viewer.sheets.plan import plan_page, sheet_of

SHOTS = [[x, y, 50.0 + 0.01 * x] for x in range(0, 21, 4) for y in range(0, 13, 4)]
CORNERS = {"A": (0.0, 0.0), "B": (20.0, 0.0), "C": (0.0, 12.0), "D": (20.0, 12.0)}
# Columns and rows from x and y: turned by 20 degrees, 20 pixels to the metre, rows down.
TURN = np.radians(20.0)
TO_PIXEL = 20.0 * np.array([[np.cos(TURN), np.sin(TURN)], [np.sin(TURN), -np.cos(TURN)]])
SHIFT = np.array([40.0, 300.0])


def pixel_of(place: Array) -> Array:
    return place @ TO_PIXEL.T + SHIFT


def colour_of(place: Array) -> Array:
    """Red tells x, green tells y: what is seen at a place of the yard."""
    x, y = place[..., 0], place[..., 1]
    return np.stack([np.clip(40 + 8 * x, 0, 255), np.clip(40 + 12 * y, 0, 255), np.full_like(x, 90.0)], axis=-1)


def picture() -> Image.Image:
    v, u = np.mgrid[0:640, 0:640] + 0.5
    back = np.linalg.inv(TO_PIXEL)
    places = (np.stack([u, v], axis=-1) - SHIFT) @ back.T
    return Image.fromarray(np.round(colour_of(places)).astype(np.uint8))


def marks(names: str, off: tuple[float, float] = (0.0, 0.0)) -> str:
    rows = []
    for name in names:
        u, v = pixel_of(np.array(CORNERS[name])) + (off if name == names[-1] else (0.0, 0.0))
        rows.append(f"{name},{u:.3f},{v:.3f}")
    return "\n".join(["point,u,v", *rows]) + "\n"


def yard(folder: Path, units: str = "m", **survey: Any) -> Study:
    fields = {
        "name": "invented yard",
        "units": units,
        "survey": {"shots": SHOTS, "points": {name: list(at) for name, at in CORNERS.items()}, **survey},
        "bed": {"outline": [[5, 3], [15, 3], [15, 9], [5, 9]]},
        "berm": {"max_slope": "4:1", "crest": [[8, 6, 0.3], [12, 6, 0.25]]},
        "grid": {"cell": 0.25},
    }
    return run_site(build_site(fields, folder))


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("air")
    picture().save(folder / "air.png")
    (folder / "three.csv").write_text(marks("ABC"), encoding="utf-8")
    (folder / "four.csv").write_text(marks("ABCD", (4.0, 0.0)), encoding="utf-8")
    return folder


@pytest.fixture(scope="module")
def marked(written: Path) -> Study:
    return yard(written, picture={"file": "air.png", "marks": "three.csv"})


@pytest.mark.usefixtures("forked_readers")
def test_three_marks_lay_a_picture(marked: Study) -> None:
    laid = picture_above(marked.site, marked.ground)
    assert laid is not None
    places = np.array([(3.0, 2.0), (17.0, 11.0)])
    pixels = np.column_stack([pixel_of(places), np.ones(2)])
    assert pixels @ laid.lies.T == pytest.approx(places, abs=1e-3)
    assert laid.said == "air.png: laid by 3 marks, which nothing checks."


@pytest.mark.slow
@pytest.mark.usefixtures("forked_readers")
def test_a_fourth_mark_tells_what_the_picture_is_off(written: Path, marked: Study) -> None:
    """Four pixels are 20 cm; least squares over four corners leave each a quarter of it."""
    four = yard(written, picture={"file": "air.png", "marks": "four.csv"})
    laid = picture_above(four.site, four.ground)
    assert laid is not None
    assert "laid by 4 marks, off by up to 0.050 m" in laid.said


@pytest.mark.usefixtures("forked_readers")
def test_the_plan_shows_each_place_in_its_colour_paler(marked: Study) -> None:
    subject = Subject(marked.site, marked.ground, marked.proposal, marked.work)
    sheet = sheet_of(subject)
    laid = picture_above(marked.site, marked.ground)
    assert laid is not None
    shown = on_sheet(laid, sheet).astype(float)
    high, wide = shown.shape[:2]
    west, south, east, north = sheet.window
    for place in ((4.0, 4.0), (16.0, 8.0), (10.0, 2.0)):
        column = int((place[0] - west) / (east - west) * wide)
        row = int((north - place[1]) / (north - south) * high)
        pale = shown[row, column] - 0.45 * np.array([251.0, 248.0, 241.0])  # of the paper, #fbf8f1
        assert pale / 0.55 == pytest.approx(colour_of(np.array(place)), abs=6.0)
    page = plan_page(subject)
    assert any("laid by 3 marks" in text.get_text().replace("\n", " ") for text in page.axes.texts) or any(
        "air.png" in text.get_text() for text in page.axes.texts
    )


@pytest.mark.slow
def test_the_plan_of_the_client_lies_on_it_too(marked: Study) -> None:
    page = client_pages(marked)[1]
    (shown,) = (np.asarray(one.get_array()) for one in page.axes.images)
    apart = np.ptp(shown[..., :2].reshape(-1, 2).astype(float), axis=0)
    assert (apart > 40.0).all(), "red tells x and green tells y over the whole yard"


@pytest.mark.slow
@pytest.mark.usefixtures("forked_readers")
def test_an_orthophoto_in_another_system_is_brought_to_the_survey(tmp_path: Path) -> None:
    """A GeoTIFF in UTM under a yard laid by a point and a bearing: the colour of each place is found there."""
    located = laid_by_bearing(MapFix("A", (0.0, 0.0), (-93.09, 44.95)), 0.2, "m")
    to_utm = pyproj.Transformer.from_crs(pyproj.CRS(located.system), 26915, always_xy=True)
    x0, y0 = to_utm.transform(0.0, 0.0)
    v, u = np.mgrid[0:600, 0:600] + 0.5
    east, north = x0 - 20.0 + 0.1 * u, y0 + 40.0 - 0.1 * v
    x, y = to_utm.transform(east.ravel(), north.ravel(), direction="INVERSE")
    colours = np.round(colour_of(np.column_stack([x, y]))).astype(np.uint8).reshape(600, 600, 3)
    with rasterio.open(
        tmp_path / "ortho.tif",
        "w",
        driver="GTiff",
        width=600,
        height=600,
        count=3,
        dtype="uint8",
        crs="EPSG:26915",
        transform=rasterio.transform.from_origin(x0 - 20.0, y0 + 40.0, 0.1, 0.1),
    ) as file:
        file.write(colours.transpose(2, 0, 1))
    place = {"point": "A", "lat": 44.95, "lon": -93.09, "bearing": float(np.degrees(0.2))}
    study = yard(tmp_path, place=place, picture={"file": "ortho.tif"})
    laid = picture_above(study.site, study.ground)
    assert laid is not None
    assert "brought to a plane of the survey" in laid.said
    for at in ((4.0, 4.0), (16.0, 8.0)):
        column, row = np.floor(np.linalg.solve(laid.lies[:, :2], np.array(at) - laid.lies[:, 2])).astype(int)
        assert laid.pixels[row, column] == pytest.approx(colour_of(np.array(at)), abs=2.0)
    nowhere = replace(study.site, survey=replace(study.site.survey, located=None))
    with pytest.raises(InputError, match="it lies on earth, and the site does not say where"):
        picture_above(nowhere, study.ground)


@pytest.mark.usefixtures("forked_readers")
@pytest.mark.parametrize(
    ("text", "said"),
    [
        (marks("AB"), "2 marks do not lay a picture"),
        ("point,u,v\nA,0,0\nB,400,0\n1,10,10\n", "the marks lie in one line|lie in one line|mirrored|from where"),
        ("point,u,v\nA,0,0\nB,400,0\nC,0,240\n", "by its marks the picture is mirrored"),
        (marks("ABCD", (160.0, 0.0)), "the mark . is .* from where the others put it"),
        ("point,u,v\nA,0,0\nQ,400,0\nC,0,240\n", '"Q" is no point of the survey'),
    ],
)
def test_marks_that_lay_no_picture_are_refused(text: str, said: str, written: Path, marked: Study) -> None:
    path = written / "bad.csv"
    path.write_text(text, encoding="utf-8")
    file = marked.site.survey.picture
    assert file is not None
    site = replace(marked.site, survey=replace(marked.site.survey, picture=replace(file, marks=(path, "bad.csv"))))
    with pytest.raises(InputError, match=said):
        picture_above(site, marked.ground)


@pytest.mark.parametrize(
    ("written_as", "said"),
    [
        ({"file": "air.png"}, "a photograph does not say where it lies. Add marks"),
        ({"file": "none.png", "marks": "three.csv"}, "none.png"),
        ({"file": "../air.png", "marks": "three.csv"}, "lies outside the folder"),
        ({"marks": "three.csv"}, "the picture has no file"),
        ("air.png", '"air.png" is no picture'),
    ],
)
def test_a_picture_that_cannot_be_is_refused(written_as: object, said: str, written: Path) -> None:
    with pytest.raises(InputError, match=said):
        yard(written, picture=written_as)
