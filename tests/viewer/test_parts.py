"""A long bed comes in parts: all of it shows, to one round scale, and what lies on a match line lies on both sheets."""

from __future__ import annotations

import re
from itertools import pairwise
from pathlib import Path

import numpy as np
import pypdfium2 as pdfium
import pytest
import shapely
from every_drawing import built_low
from long_beds import BENDS, long_study
from odd_yards import odd_sites
from paper_words import faults_of
from shapely import affinity
from shapely.geometry import LineString, Point, Polygon

from terrain.papers import scales
from terrain.units import Units
from viewer.page.match_lines import draw_matches
from viewer.page.page import new_page, save_book
from viewer.page.parts import MOST, NARROW, SHARE, in_parts, width_of
from viewer.page.sheet import BORDER, FOOT_PANEL, Sheet, lay_out
from viewer.page.subject import bed_sides, subject_of
from viewer.sheets.asbuilt_map import draw_as_built
from viewer.sheets.plan import sheets_of
from viewer.sheets.plan_set import plan_set_pages


def parts_of(bed: Polygon, units: Units, asked: str | None = None) -> tuple[Sheet, ...]:
    whole = lay_out(bed.buffer(1.2).bounds, bed_sides(bed), units, asked)
    return in_parts(whole, bed, asked, FOOT_PANEL)


def shown_on(sheet: Sheet) -> Polygon:
    """The ground inside the frame, metres."""
    left, bottom, right, top = sheet.frame
    return Polygon(sheet.ground(np.array([(left, bottom), (right, bottom), (right, top), (left, top)])))


def beds() -> list[Polygon]:
    """Strips of many lengths, widths, bends and turns, and some that need no parts."""
    rng = np.random.default_rng(19)
    found = [LineString(bend).buffer(1.6) for bend in BENDS.values()]
    for _ in range(24):
        turns = np.cumsum(rng.uniform(-0.5, 0.5, 4)) + rng.uniform(0.0, 2.0 * np.pi)
        steps = rng.uniform(2.0, 25.0, 4)[:, None] * np.column_stack([np.cos(turns), np.sin(turns)])
        found.append(LineString(np.vstack([[0.0, 0.0], np.cumsum(steps, axis=0)])).buffer(rng.uniform(0.6, 2.5)))
    return [bed for bed in found if isinstance(bed, Polygon)]


@pytest.mark.parametrize("units", [pytest.param("ft", marks=pytest.mark.slow), "m"])
def test_parts_show_all_of_a_bed_that_is_large_enough_to_read(units: Units) -> None:
    split = 0
    for bed in beds():
        sheets = parts_of(bed, units)
        split += len(sheets) > 1
        assert len(sheets) <= MOST
        assert len({(s.paper, s.scale) for s in sheets}) == 1
        assert sheets[0].scale in scales(units)
        shown = shapely.union_all([shown_on(sheet) for sheet in sheets])
        assert shown.buffer(1e-6).covers(bed)
        long, short = (side * sheets[0].scale.points for side in bed_sides(bed))
        assert long >= SHARE * max(sheets[0].width, sheets[0].height) - 1e-6
        # A strip far too long for six sheets is as wide as six sheets make it.
        assert short >= NARROW or len(sheets) >= MOST - 2, (short, len(sheets))
    assert split >= 6


def odd_outlines() -> dict[str, Polygon]:
    """Outlines that bend, close, branch, or are very long or small, metres; and those of odd yards."""
    half = np.linspace(0.0, np.pi, 60)
    round_about = np.linspace(0.0, 9.0, 90)
    ways = {
        "an L": [(0, 0), (25, 0), (25, 25)],
        "a U": [(0, 0), (22, 0), (22, 14), (0, 14)],
        "a C": 15.0 * np.column_stack([np.cos(half), np.sin(half)]),
        "an S": [(x, 8.0 * np.sin(x / 6.0)) for x in np.linspace(0.0, 50.0, 80)],
        "a hook": [(0, 0), (40, 3), (46, 9), (44, 16), (36, 17)],
        "aslant": [(0, 0), (40, 38)],
        "straight": [(0, 0), (1, 55)],
        "very long": [(0, 0), (150, 1)],
        "a snail": (3.0 + round_about)[:, None] * np.column_stack([np.cos(round_about), np.sin(round_about)]),
    }
    found = {name: LineString(way).buffer(1.4) for name, way in ways.items()}
    found["a T"] = shapely.union_all([LineString(way).buffer(1.5) for way in ([(0, 0), (40, 0)], [(20, 0), (20, 25)])])
    found["a ring"] = Point(0, 0).buffer(12.0).difference(Point(0, 0).buffer(9.0))
    found["a crescent"] = Point(0, 0).buffer(15.0).difference(Point(6, 0).buffer(13.0))
    found |= {f"{size} m round": Point(0, 0).buffer(size / 2.0) for size in (1.2, 2.0, 4.0, 30.0)}
    return {**found, **{f"odd yard {yard.seed}": site.bed.outline for yard, site in odd_sites(range(18))}}


@pytest.mark.parametrize("units", [pytest.param("ft", marks=pytest.mark.slow), "m"])
def test_no_bed_is_shorter_than_a_third_of_its_sheet_whatever_its_shape(units: Units) -> None:
    """Whole, or part for part; and what is split is split across its run, every line seen on both its sheets."""
    split = set()
    for name, bed in odd_outlines().items():
        sheets = parts_of(bed, units)
        for sheet in sheets:
            long = bed_sides(sheet.clipped(bed))[0]
            assert long >= max(sheet.width, sheet.height) / 3.0, (name, sheet.part)
        assert shapely.union_all([shown_on(sheet) for sheet in sheets]).buffer(1e-6).covers(bed), name
        if len(sheets) == 1:
            continue
        split.add(name)
        parts = [sheet.part for sheet in sheets if sheet.part is not None]
        assert len(parts) == len(sheets)
        assert sum(piece.area for piece in parts[0].pieces) == pytest.approx(bed.area, rel=2e-3), name
        for match in parts[0].all_matches:
            ends = shapely.points(shapely.get_coordinates(match.line))
            assert shapely.distance(ends, bed.boundary).max() < 2e-3, name
            assert match.line.length < 1.5 * width_of(bed), name
            assert all(sheets[number].room.contains(sheets[number].shape(match.line)) for number in match.parts), name
    assert split >= {"an L", "a C", "an S", "a hook", "aslant", "straight", "very long", "a T", "a ring"}


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
        window = affinity.rotate(shapely.box(*sheet.window), sheet.turn, use_radians=True)
        assert shown_on(sheet).symmetric_difference(window).area < 1e-6
        (up,) = sheet.ways(np.array([[0.0, 1.0]]))
        assert [np.sin(sheet.turn), np.cos(sheet.turn)] == pytest.approx(up, abs=1e-12)


@pytest.mark.parametrize(
    ("way", "units"),
    [
        pytest.param("bent", "m", marks=pytest.mark.slow),
        pytest.param("hook", "ft", marks=pytest.mark.fuzz),
        pytest.param("east", "m", marks=pytest.mark.fuzz),
        pytest.param("north", "ft", marks=pytest.mark.fuzz),
    ],
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


@pytest.mark.slow
def test_what_was_built_of_a_bent_bed_comes_in_the_parts_of_the_plan_with_every_shot(tmp_path: Path) -> None:
    study = long_study("bent", "m")
    check = built_low(study)
    path, _ = draw_as_built(study, check, tmp_path)
    assert not faults_of(path, BORDER)
    told = [page.get_textpage().get_text_bounded() for page in pdfium.PdfDocument(path)]
    assert len(told) == len(sheets_of(subject_of(study))) > 1
    for shot in check.shots:
        assert any(f"{shot.name}:" in words for words in told), shot.name
