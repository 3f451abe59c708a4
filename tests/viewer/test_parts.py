"""A long bed comes in parts: all of it shows, to one round scale, and what lies on a match line lies on both sheets."""

from __future__ import annotations

import re
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
import shapely
from long_beds import BENDS, long_study
from paper_words import faults_of
from shapely.geometry import LineString, Point, Polygon

from terrain.papers import scales
from terrain.units import Units
from viewer.page.match_lines import draw_matches
from viewer.page.page import new_page, save_book
from viewer.page.parts import MOST, NARROW, SHARE, in_parts
from viewer.page.sheet import BORDER, FOOT_PANEL, Sheet, lay_out
from viewer.page.subject import bed_sides
from viewer.sheets.plan_set import plan_set_pages


def parts_of(bed: Polygon, units: Units, asked: str | None = None) -> tuple[Sheet, ...]:
    whole = lay_out(bed.buffer(1.2).bounds, bed_sides(bed), units, asked)
    return in_parts(whole, bed, asked, FOOT_PANEL)


def beds() -> list[Polygon]:
    """Strips of many lengths, widths, bends and turns, and some that need no parts."""
    rng = np.random.default_rng(19)
    found = [LineString(bend).buffer(1.6) for bend in BENDS.values()]
    for _ in range(24):
        turns = np.cumsum(rng.uniform(-0.5, 0.5, 4)) + rng.uniform(0.0, 2.0 * np.pi)
        steps = rng.uniform(2.0, 25.0, 4)[:, None] * np.column_stack([np.cos(turns), np.sin(turns)])
        found.append(LineString(np.vstack([[0.0, 0.0], np.cumsum(steps, axis=0)])).buffer(rng.uniform(0.6, 2.5)))
    return [bed for bed in found if isinstance(bed, Polygon)]


@pytest.mark.parametrize("units", ["ft", "m"])
def test_parts_show_all_of_a_bed_that_is_large_enough_to_read(units: Units) -> None:
    split = 0
    for bed in beds():
        sheets = parts_of(bed, units)
        split += len(sheets) > 1
        assert len(sheets) <= MOST
        assert len({(s.paper, s.scale, s.aside) for s in sheets}) == 1
        assert sheets[0].scale in scales(units)
        shown = shapely.union_all([shapely.box(*sheet.window) for sheet in sheets])
        assert shown.buffer(1e-6).covers(bed)
        long, short = (side * sheets[0].scale.points for side in bed_sides(bed))
        assert long >= SHARE * max(sheets[0].width, sheets[0].height) - 1e-6
        # A strip far too long for six sheets is as wide as six sheets make it.
        assert short >= NARROW or len(sheets) >= MOST - 2, (short, len(sheets))
    assert split >= 6


def test_a_long_bed_runs_along_the_long_side_of_its_paper() -> None:
    for way in ("east", "north"):
        bed = LineString(BENDS[way]).buffer(1.6)
        for sheet in parts_of(bed, "m"):
            start, end = sheet.points(np.array([BENDS[way][0], BENDS[way][-1]]))
            run, rise = np.abs(end - start)
            assert (run > rise) == (sheet.width > sheet.height), way


def test_what_lies_on_a_match_line_lies_on_it_on_both_sheets() -> None:
    for bed in beds()[:8]:
        for one, other in pairwise(parts_of(bed, "ft")):
            assert one.part is not None
            assert other.part is not None
            (match,) = set(one.part.matches) & set(other.part.matches)
            spot = match.line.intersection(bed).centroid
            for sheet in (one, other):
                assert sheet.room.contains(sheet.shape(spot))
                page = new_page(sheet.width, sheet.height)
                draw_matches(page, sheet)
                assert f"MATCH LINE {match.letter}," in " ".join(text.get_text() for text in page.axes.texts)
                drawn = shapely.union_all([LineString(s) for c in page.axes.collections[:] for s in _segments(c)])
                assert drawn.distance(sheet.shape(spot)) < 0.01


def _segments(collection: object) -> list[np.ndarray]:
    return collection.get_segments() if hasattr(collection, "get_segments") else []


@pytest.mark.parametrize("way", BENDS)
def test_paper_and_ground_answer_each_other_however_the_sheet_is_turned(way: str) -> None:
    bed = LineString(BENDS[way]).buffer(1.6)
    for sheet in parts_of(bed, "m"):
        places = np.random.default_rng(2).uniform(-50.0, 50.0, (40, 2))
        points = sheet.points(places)
        assert sheet.ground(points) == pytest.approx(places, abs=1e-9)
        assert [shapely.get_coordinates(sheet.shape(Point(spot)))[0] for spot in places] == pytest.approx(points)
        assert sheet.ways(np.diff(places, axis=0)) * sheet.scale.points == pytest.approx(np.diff(points, axis=0))
        corners = sheet.ground(np.array(sheet.frame).reshape(2, 2))
        west, south, east, north = sheet.window
        assert sorted(corners[:, 0]) == pytest.approx([west, east])
        assert sorted(corners[:, 1]) == pytest.approx([south, north])
        (up,) = sheet.ways(np.array([[0.0, 1.0]]))
        assert [np.sin(sheet.turn), np.cos(sheet.turn)] == pytest.approx(up, abs=1e-12)


@pytest.mark.parametrize(
    ("way", "units"),
    [pytest.param("east", "m", marks=pytest.mark.slow), pytest.param("north", "ft", marks=pytest.mark.fuzz)],
)
def test_the_set_of_a_long_bed_reads_clean_and_names_every_part(way: str, units: str, tmp_path: Path) -> None:
    study = long_study(way, units)
    pages = plan_set_pages(study)
    assert not faults_of(save_book(pages, tmp_path / "set.pdf"), BORDER)
    assert len({(page.width, page.height) for page in pages}) == 1
    told = [" ".join(text.get_text() for axes in page.figure.axes for text in axes.texts) for page in pages]
    plans = [words for words in told if "Contour plan of the mound, part " in words]
    assert len(plans) > 1
    for letter in re.findall(r"MATCH LINE ([A-E])", plans[0]):
        assert f"MATCH LINE {letter}, see part 1" in plans[1]
    assert all(f"Key: part {number}" in words for number, words in enumerate(plans, start=1))
    assert all(f"{number} of {len(pages)}" in words for number, words in enumerate(told, start=1))
    (cautions,) = set(re.findall(r"more in the cautions, sheet (\d+)", " ".join(plans)))
    assert "Trees and cautions" in told[int(cautions) - 1]
