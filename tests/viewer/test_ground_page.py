"""The pages of the existing grade: nothing overlaps, every mark that the yard has is in the legend."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations
from pathlib import Path

import numpy as np
import pytest
from long_beds import BENDS, long_study
from pypdf import PdfReader
from shapely.geometry import Point
from shipped import study_of

from cli.ground_report import name_for_leaving_out, plus_minus
from terrain.field.next_places import ground_part, surer_ground, where_next
from terrain.flow import Study, run_site
from terrain.ground.model import DoubtfulShot
from terrain.site.survey import LeftOut
from viewer.sheets.deviation_map import _step_lines, band_edges, deviation_page, ground_rows, range_rows, share_rows
from viewer.sheets.ground_page import (
    _contours,
    _legend,
    draw_ground,
    ground_facts,
    ground_labels,
    ground_page,
    wanted_words,
)
from viewer.sheets.ground_subject import GroundSubject, crease_lines, ground_sheet


@pytest.fixture(scope="module")
def study(root: Path) -> Study:
    return study_of("alder-bend")


@pytest.fixture(scope="module")
def subject(study: Study) -> GroundSubject:
    return GroundSubject(study, where_next(study))


def test_no_labels_overlap_and_every_place_to_shoot_has_its_name(subject: GroundSubject) -> None:
    sheet = ground_sheet(subject)
    placed = ground_labels(subject, sheet, _contours(subject, sheet)[0])
    for one, other in combinations(placed, 2):
        assert one.box.intersection(other.box).area < 1e-6, (one.label.text, other.label.text)
    assert all(sheet.room.covers(item.box) for item in placed)
    named = {item.label.text for item in placed if item.label.tag == "next"}
    assert named == {one.name for one in subject.wanted}
    assert {item.label.text for item in placed if item.label.tag == "tree"} == {"bur oak"}
    assert sum(item.label.tag == "shot" for item in placed) > 40


def test_every_place_to_shoot_and_the_points_it_is_taped_from_are_on_the_sheet(subject: GroundSubject) -> None:
    sheet = ground_sheet(subject)
    for one in subject.wanted:
        assert one.tapes is not None
        for at in (one.at, one.tapes.start.at, one.tapes.end.at):
            assert sheet.room.covers(sheet.shape(Point(at)))


def test_legend_shows_only_what_the_plan_has(subject: GroundSubject) -> None:
    words = {text for _, text in _legend(subject, ground_sheet(subject))}
    assert "shoot here next, and its tapes" in words
    assert "shot left out" not in words
    assert "breakline: the ground creases" not in words
    site = subject.study.site
    line = np.array([[6.0, 2.0, 30.3], [9.0, 3.0, 30.4]])
    survey = replace(site.survey, left_out=(LeftOut("99", (8.0, 4.0), 30.0),), breaklines=(line,))
    other = GroundSubject(replace(subject.study, site=replace(site, survey=survey)), ())
    words = {text for _, text in _legend(other, ground_sheet(other))}
    assert {"shot left out", "breakline: the ground creases"} <= words
    assert "shoot here next, and its tapes" not in words


def test_both_pages_are_written(subject: GroundSubject, tmp_path: Path) -> None:
    for name, page in (("plan", ground_page(subject)), ("sure", deviation_page(subject))):
        assert page.save(tmp_path / f"{name}.png", dpi=50).stat().st_size > 5_000


def test_every_note_of_the_shipped_yard_stands_in_the_book_whole(subject: GroundSubject, tmp_path: Path) -> None:
    book = draw_ground(subject, tmp_path)[0]
    told = "".join("".join(page.extract_text() for page in PdfReader(book).pages).split())
    wanted = [wanted_words(one, subject.study.site.units) for one in subject.wanted]
    assert len(wanted) == 3
    for sentence in (*wanted, *subject.study.ground.notes):
        assert "".join(sentence.split()) in told, sentence


def test_bands_part_the_deviation_of_the_bed(subject: GroundSubject) -> None:
    edges = band_edges(subject)
    assert edges[0] == 0.0
    assert len(edges) == 5
    assert np.allclose(np.diff(edges), edges[1])
    ground = subject.study.ground
    bed = subject.study.site.bed.outline
    spots = np.array([[p.x, p.y] for p in (bed.centroid, bed.representative_point())])
    assert (ground.grid.sample(ground.deviation, spots) < edges[-1]).all()


def test_words_give_tapes_in_feet_and_inches_and_ranges_in_the_units_of_the_site(subject: GroundSubject) -> None:
    words = wanted_words(subject.wanted[0], "ft")
    assert " ft " in words
    assert " of " in words
    bare = replace(subject.wanted[0], tapes=None)
    assert wanted_words(bare, "ft").startswith("at x ")
    assert dict(ground_facts(subject))["Surface"] == "kriging"
    assert range_rows(subject)[0][0] == "now"
    assert all("cu yd" in text for _, text in [*ground_rows(subject), *share_rows(subject), *range_rows(subject)])
    parts = [float(text.rpartition(" ")[0].rpartition(", ")[2]) for _, text in share_rows(subject)]
    assert sum(parts) == pytest.approx(100.0, abs=3.0)


def test_surer_ground_narrows_its_own_part_alone(study: Study) -> None:
    shares = study.order.shares
    halved = surer_ground(shares, 0.5)
    assert ground_part(halved) == pytest.approx(0.5 * ground_part(shares), rel=1e-12)
    for before, after in zip(shares, halved, strict=True):
        assert before.cause == after.cause
        assert after.deviation == (0.5 if before.cause == "existing grade" else 1.0) * before.deviation


def test_thousands_of_shots_are_specks_without_words(study: Study) -> None:
    random = np.random.default_rng(2)
    low, high = study.site.survey.shots.min(axis=0), study.site.survey.shots.max(axis=0)
    shots = random.uniform(low, high, (3000, 3))
    names = tuple(str(i) for i in range(3000))
    survey = replace(study.site.survey, shots=shots, names=names, codes=("",) * 3000, rows=())
    thick = GroundSubject(replace(study, site=replace(study.site, survey=survey)), ())
    sheet = ground_sheet(thick)
    placed = ground_labels(thick, sheet, _contours(thick, sheet)[0])
    assert not [item for item in placed if item.label.tag == "shot"]
    assert sum(item.label.tag == "contour" for item in placed) > 8  # the contours keep their figures
    words = {text for _, text in _legend(thick, sheet)}
    assert "shots" in words
    assert "shot, its elevation" not in words


def test_a_range_too_small_to_show_is_not_none() -> None:
    assert plus_minus(0.006, "ft") == "± 1/4 in"
    assert plus_minus(0.0004, "ft") == "within 1/4 in"
    assert plus_minus(0.0004, "m") == "within 0.5 cm"


def test_no_step_of_sureness_is_numbered_on_a_house_or_a_walk(subject: GroundSubject) -> None:
    site, sheet = subject.study.site, ground_sheet(subject)
    lines = _step_lines(subject, sheet, band_edges(subject))
    assert sum(line.length for line in lines) > 0.0
    for thing in (*site.building, *site.keep_clear):
        assert all(line.intersection(sheet.shape(thing.outline)).length < 1.0 for line in lines)  # points of the paper


def test_no_contour_is_numbered_on_a_wall(study: Study) -> None:
    shots = study.site.survey.shots
    low, high = shots.min(axis=0), shots.max(axis=0)
    middle = (low + high) / 2.0
    line = np.array([[low[0], middle[1], low[2]], [high[0], middle[1], high[2]]])
    survey = replace(study.site.survey, breaklines=(line, line + np.array([0.0, 0.1, 1.0])))
    walled = GroundSubject(run_site(replace(study.site, survey=survey)), ())
    sheet = ground_sheet(walled)
    placed = ground_labels(walled, sheet, _contours(walled, sheet)[0])
    numbers = [item.box for item in placed if item.label.tag == "contour"]
    assert len(numbers) > 5
    assert all(box.centroid.distance(crease_lines(sheet, walled.study.site)) > 5.0 for box in numbers)


def test_a_shot_is_left_out_by_its_row_where_its_name_is_another_s_too(study: Study) -> None:
    survey = study.site.survey
    at = (float(survey.shots[4, 0]), float(survey.shots[4, 1]))
    doubt = DoubtfulShot(survey.names[4], at, 0.3, 0.05, "")
    assert name_for_leaving_out(doubt, survey) == survey.names[4]
    twice = replace(survey, names=(*survey.names[:7], survey.names[4], *survey.names[8:]))
    assert name_for_leaving_out(doubt, twice) == f"row {survey.rows[4]}"
    assert name_for_leaving_out(doubt, replace(twice, rows=())) == survey.names[4]


@pytest.mark.parametrize("units", ["m", pytest.param("ft", marks=pytest.mark.slow)])
@pytest.mark.parametrize(
    "way", ["bent", *(pytest.param(way, marks=pytest.mark.slow) for way in BENDS if way != "bent")]
)
def test_the_ground_of_a_long_bed_has_room_for_its_shots_on_one_sheet(way: str, units: str) -> None:
    """Why these pages are never in parts: of the 60 shots about 55 m of bed more than 50 bear their elevations."""
    study = long_study(way, units)
    long = GroundSubject(study, ())
    sheet = ground_sheet(long)
    placed = ground_labels(long, sheet, _contours(long, sheet)[0])
    assert sheet.part is None
    assert len(study.site.survey.shots) == 60
    assert sum(item.label.tag == "shot" for item in placed) > 50
