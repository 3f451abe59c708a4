"""Saving changes what was changed, and nothing else of the site file."""

from __future__ import annotations

import difflib
import os
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, strategies as st
from live_yards import copied_yard
from shapely.affinity import translate
from shapely.geometry import Polygon, box

from terrain.errors import OutputError
from terrain.site.model import CrestPoint
from terrain.site.read import read_site
from terrain.units import parse_length
from viewer.web.live.save import length_text, same_wish, save_wish, site_of, with_wish_written
from viewer.web.live.wish import Wish, wish_of_site

INCH, FOOT = 0.0254, 0.3048
TEXT = """# top
[bed]
outline = "bed.csv"  # measured in June
[berm]
# the crest
crest = [
  [1, 2, "3 in"],   # west
  [4, 5, "6 in"],   # middle
  # the high end
  [7, 8, "9 in"],   # east
]  # end
max_slope = "4:1" # gentle
# last words
"""
CREST = tuple(CrestPoint(a * FOOT, b * FOOT, h * INCH) for a, b, h in ((1, 2, 3), (4, 5, 6), (7, 8, 9)))
BEFORE = Wish(box(0.0, 0.0, 3.0, 3.0), CREST, 0.25, None, None, None)


def changed_lines(old: str, new: str) -> list[str]:
    return [line for line in difflib.ndiff(old.splitlines(), new.splitlines()) if line[0] in "+-"]


def test_the_same_wish_leaves_the_text_as_it_is() -> None:
    assert with_wish_written(TEXT, BEFORE, BEFORE, "ft") == TEXT


def test_a_new_height_touches_its_own_figure_only() -> None:
    crest = (CREST[0], replace(CREST[1], height=7.25 * INCH), CREST[2])
    new = with_wish_written(TEXT, BEFORE, replace(BEFORE, crest=crest), "ft")
    assert changed_lines(TEXT, new) == ['-   [4, 5, "6 in"],   # middle', '+   [4, 5, "7 1/4 in"],   # middle']


def test_a_point_taken_away_takes_no_other_points_comment() -> None:
    new = with_wish_written(TEXT, BEFORE, replace(BEFORE, crest=(CREST[0], CREST[2])), "ft")
    assert '[1, 2, "3 in"],   # west' in new
    assert '[7, 8, "9 in"],   # east' in new
    assert '"6 in"' not in new


def test_comments_stay_through_every_kind_of_change() -> None:
    crest = (*CREST, CrestPoint(3.0 * FOOT, 1.0 * FOOT, 0.2))
    wish = Wish(box(0.0, 0.0, 4.0, 4.0), crest, 0.2, 0.6, "south", 9.0)
    new = with_wish_written(TEXT, BEFORE, wish, "ft")
    for comment in (
        "# top",
        "# measured in June",
        "# west",
        "# middle",
        "# the high end",
        "# end",
        "# gentle",
        "# last",
    ):
        assert comment in new
    back = with_wish_written(new, wish, replace(wish, toe=None, gentle_side=None, soil=None), "ft")
    assert not any(key in back for key in ("toe", "gentle_side", "soil"))


@pytest.mark.parametrize("name", ["alder-bend", "larkspur-rise"])
def test_a_saved_wish_reads_back_as_the_same_wish(tmp_path: Path, name: str) -> None:
    path = copied_yard(tmp_path, name)
    site, text = site_of(path)
    before = wish_of_site(site)
    first, *rest = before.crest
    wish = replace(
        before,
        outline=translate(before.outline, 0.05, -0.02),
        crest=(CrestPoint(first.x + 0.1, first.y, 0.31), *rest),
        max_slope=1.0 / 4.7,
        toe=0.5,
        gentle_side="south",
        soil=11.0,
    )
    new = save_wish(path, text, before, wish, site.units)
    assert path.read_text() == new
    assert same_wish(wish_of_site(read_site(path)), wish)
    comments = [line.partition("#")[2] for line in text.splitlines() if "#" in line]
    assert all(comment in new for comment in comments)
    assert {item.name for item in tmp_path.iterdir() if item.name.startswith(".")} == set()


def test_a_bed_with_a_hole_is_saved_with_its_hole(tmp_path: Path) -> None:
    path = copied_yard(tmp_path)
    site, text = site_of(path)
    before = wish_of_site(site)
    hole = before.outline.centroid.buffer(0.4, quad_segs=2).exterior.coords
    high = before.crest[2]
    wish = replace(before, outline=Polygon(before.outline.exterior.coords, [hole]), crest=(high,))
    save_wish(path, text, before, wish, site.units)
    assert same_wish(wish_of_site(read_site(path)), wish)


def test_a_file_that_somebody_else_changed_is_not_overwritten(tmp_path: Path) -> None:
    path = copied_yard(tmp_path)
    site, text = site_of(path)
    before = wish_of_site(site)
    path.write_text(text + "\n# my own note\n")
    with pytest.raises(OutputError, match="changed by another program"):
        save_wish(path, text, before, replace(before, max_slope=0.2), site.units)
    assert path.read_text().endswith("# my own note\n")


def test_a_wish_that_would_not_read_back_is_not_saved(tmp_path: Path) -> None:
    path = copied_yard(tmp_path)
    site, text = site_of(path)
    before = wish_of_site(site)
    outside = replace(before, crest=(CrestPoint(-50.0, -50.0, 0.3),))
    with pytest.raises(OutputError, match="nothing was saved"):
        save_wish(path, text, before, outside, site.units)
    assert path.read_text() == text
    assert sorted(os.listdir(tmp_path)) == sorted(
        item.name for item in tmp_path.iterdir() if not item.name.startswith(".")
    )


def test_line_ends_of_the_file_stay(tmp_path: Path) -> None:
    path = copied_yard(tmp_path)
    path.write_bytes(path.read_bytes().replace(b"\n", b"\r\n"))
    site, text = site_of(path)
    before = wish_of_site(site)
    save_wish(path, text, before, replace(before, max_slope=0.2), site.units)
    data = path.read_bytes()
    assert data.count(b"\r\n") == data.count(b"\n")


@given(st.floats(1e-3, 5.0), st.sampled_from(["ft", "m"]))
def test_a_length_reads_back_to_a_hundredth_of_a_millimetre(metres: float, units: str) -> None:
    read = parse_length(length_text(metres, units), units, "")  # type: ignore[arg-type]
    assert abs(read - metres) < 1e-5
