"""What the page draws: hatches and gaps are exact geometry."""

from __future__ import annotations

from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pytest
import shapely
from hypothesis import given, strategies as st
from shapely.geometry import LineString, Point, box

from viewer.page.lettering import FIGURE_HEIGHT, LEAST, Type, fit_size, text_size, wrap
from viewer.page.marks import TitleBlock
from viewer.page.page import Pen, cut_gaps, hatch, new_page


@given(st.floats(2.0, 12.0), st.floats(0.0, 180.0))
def test_hatch_lines_stay_in_their_area_and_cover_it_evenly(spacing: float, angle: float) -> None:
    area = Point(80, 60).buffer(50.0)
    lines = hatch(area, spacing, angle)
    assert area.buffer(1e-6).contains(lines)
    # Lines `spacing` apart carry area / spacing of length; the edge adds or takes up to a line or two.
    assert lines.length == pytest.approx(area.area / spacing, abs=220.0)


def test_hatches_of_neighbours_meet_in_step() -> None:
    left, right = hatch(box(0, 0, 40, 50), 6.0), hatch(box(40, 0, 80, 50), 6.0)
    ends = [
        np.sort(shapely.get_coordinates(part.intersection(LineString([(40, 0), (40, 50)])))[:, 1])
        for part in (left, right)
    ]
    assert ends[0] == pytest.approx(ends[1], abs=1e-6)


def test_lines_leave_a_gap_under_a_label() -> None:
    (line,) = cut_gaps([LineString([(0, 0), (100, 0)])], [box(40, -5, 60, 5)])
    assert line.length == pytest.approx(80.0, abs=1e-9)
    assert not line.intersects(box(41, -1, 59, 1))


def test_later_drawing_lies_on_top(tmp_path: Path) -> None:
    from PIL import Image

    page = new_page(72.0, 72.0)
    page.lines(LineString([(0, 36), (72, 36)]), Pen("#000000", 10.0))
    page.area(box(0, 0, 72, 72), "#ff0000")
    page.picture(np.full((8, 8, 3), [0, 0, 255], dtype=np.uint8), (36.0, 0.0, 72.0, 72.0))
    with Image.open(page.save(tmp_path / "page.png", dpi=72.0)) as picture:
        assert picture.size == (72, 72)
        assert picture.convert("RGB").getpixel((10, 36)) == (255, 0, 0)
        assert picture.convert("RGB").getpixel((60, 36)) == (0, 0, 255)


def test_a_title_too_wide_is_set_smaller_but_never_below_the_least() -> None:
    title = Type(17.0, bold=True, title=True)
    assert text_size("Alder Bend", fit_size("Alder Bend", title, 60.0, 5.0))[0] == pytest.approx(60.0, rel=0.03)
    assert fit_size("Alder Bend" * 20, title, 60.0, 7.0).size == 7.0
    assert fit_size("A", title, 60.0, 7.0) == title


@pytest.mark.parametrize("signs", [10, 60, 200])
@pytest.mark.parametrize("width", [150.0, 300.0, 560.0])
def test_a_title_stands_whole_in_lines_that_fit(signs: int, width: float) -> None:
    name = ("the garden of the old bur oak at the bend of the lane " * 4)[:signs].strip()
    page = new_page(612.0, 792.0)
    used = TitleBlock(name).draw(page, 26.0, 750.0, width, 700.0)
    lines = [(text.get_text(), text.get_fontsize(), text.get_position()[1]) for text in page.axes.texts]
    assert " ".join(line for line, _, _ in lines) == name
    for line, size, up in lines:
        assert text_size(line, Type(size, bold=True, title=True))[0] <= width
        assert size >= LEAST
        assert 750.0 - used <= up <= 750.0 - FIGURE_HEIGHT * size
    assert min(np.diff([-up for _, _, up in lines]), default=99.0) >= 1.1 * lines[0][1]


def test_letters_that_the_type_lacks_are_boxes_and_no_warnings(
    tmp_path: Path, recwarn: pytest.WarningsRecorder
) -> None:
    page = new_page(72.0, 72.0)
    page.text(5.0, 30.0, "\u6d4b", Type(9.0))
    for kind in ("png", "pdf", "svg"):
        assert page.save(tmp_path / f"page.{kind}").stat().st_size > 300
    assert text_size("\u8bd5", Type(9.0))[0] > 0.0
    assert not [one for one in recwarn.list if "Glyph" in str(one.message)]


def test_signs_that_do_not_print_leave_a_vector_drawing_readable(tmp_path: Path) -> None:
    page = new_page(72.0, 72.0)
    page.text(5.0, 30.0, 'bell\u0007 <oak> & "birch" -- $x^2$', Type(9.0))
    root = ElementTree.parse(page.save(tmp_path / "page.svg")).getroot()
    assert root.tag.endswith("svg")


def test_a_picture_whose_pixels_are_those_of_the_page_is_copied_and_any_other_is_fitted(tmp_path: Path) -> None:
    from PIL import Image

    image = np.random.default_rng(0).integers(0, 256, (60, 90, 3)).astype(np.uint8)
    for left, dots, copied in ((30.0, 72.0, True), (30.0, 144.0, False)):
        page = new_page(200.0, 120.0)
        page.picture(image, (left, 20.0, left + 90.0, 80.0))
        page.area(box(30.0, 20.0, 40.0, 30.0), "#000000")
        shown = np.asarray(Image.open(page.save(tmp_path / "page.png", dpi=dots)))
        assert np.array_equal(shown[40:90, 30:120], image[:50]) == copied
        down, across = (round(70 * dots / 72), round(75 * dots / 72))
        assert shown[down - 20 : down + 20, across - 20 : across + 20].std() > 20.0, "it is there all the same"
        assert (shown[round(95 * dots / 72), round(35 * dots / 72)] == 0).all(), "what is drawn later lies on top"


@pytest.mark.parametrize("measure", ["96.9 %", "4 ft", "10.0 cu yd", "2 ft 4 1/2 in", "1/2 in", "1,250 L"])
def test_no_line_ends_within_a_measure_that_fits_in_a_line(measure: str) -> None:
    text, kind = f"Lay {measure} and then {measure} more, {measure}.", Type(9.0)
    least = int(text_size(f"{measure},", kind)[0]) + 2
    for width in range(least, 260):
        lines = wrap(text, kind, float(width))
        assert " ".join(lines) == text
        assert sum(line.count(measure) for line in lines) == 3


def test_a_measure_wider_than_the_line_is_broken_and_stays_inside() -> None:
    kind = Type(9.0)
    width = text_size("2 ft 4", kind)[0] + 0.5
    assert all(text_size(line, kind)[0] <= width for line in wrap("2 ft 4 1/2 in", kind, width))
