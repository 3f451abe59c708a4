"""One wall: what the caution stands on, the order buys, the workbook works out and the section draws."""

from __future__ import annotations

import dataclasses
import math
import re
from pathlib import Path

import numpy as np
import openpyxl
import pytest
import review_yards as yards
import shapely
from shapely.geometry import box

from terrain.files.order_plain import order_plain
from terrain.files.workbook.book import write_book
from terrain.flow import Study, run_site
from terrain.review.edges import height_findings, lift_findings
from terrain.shape.berm import shape_berm
from terrain.shape.retained import retained_edges
from terrain.site.features import RetainedEdge
from terrain.site.model import Berm, CrestPoint, Site
from terrain.site.read import read_site
from terrain.soil.stone import Wall, walls
from terrain.soil.words import stone_words
from viewer.page.subject import SectionLine, Subject
from viewer.sheets.section_stones import stones_cut

INCH, FOOT, POUND = 0.0254, 0.3048, 0.45359237
SLOPE = 0.25
SHOWN = [3.0, 5.0, 7.0, 8.0, 10.0, 12.0, 16.0, 17.9, 18.0, 20.0, 24.0, 30.0, 36.0, 40.0]
# Shown under 18 in: 4 in of stone in the ground on 2 in of crushed stone; else 12 in (a municipal drawing of a rockery)
# on 4 in. Common practice, no published source.
FOUNDATIONS = [(inches, *((4.0, 2.0) if inches < 18.0 else (12.0, 4.0))) for inches in SHOWN]


def site_with(inches: float, length: float = 60.0) -> Site:
    line = ((10.0, 18.0), (10.0 + length, 18.0))
    berm = Berm(SLOPE, (CrestPoint(10.0 + length / 2.0, 20.0, 0.5),))
    site = yards.make_site(box(5.0, 5.0, 15.0 + length, 35.0), "ft", berm=berm)
    return dataclasses.replace(site, retained_edge=(RetainedEdge("stones", line, inches * INCH),))


def the_wall(inches: float, length: float = 60.0) -> Wall:
    (wall,) = walls(site_with(inches, length))
    return wall


@pytest.mark.parametrize(("inches", "bury", "bedding"), FOUNDATIONS)
def test_courses_stand_on_one_another_from_the_foot_to_the_height_shown(
    inches: float, bury: float, bedding: float
) -> None:
    wall = the_wall(inches)
    assert (wall.bury, wall.bedding) == (pytest.approx(bury * INCH), pytest.approx(bedding * INCH))
    assert wall.courses[0].foot == pytest.approx(-wall.bury, abs=1e-12)
    tops = [course.foot + course.size for course in wall.courses]
    assert [course.foot for course in wall.courses[1:]] == pytest.approx(tops[:-1], abs=1e-12)
    assert tops[-1] == pytest.approx(inches * INCH, abs=1e-12)
    assert wall.overall == pytest.approx(sum(course.size for course in wall.courses), abs=1e-12)
    # Base half as wide as the wall is high over all: common practice, no published source.
    assert wall.courses[0].size >= wall.overall / 2.0 - 1e-12


@pytest.mark.parametrize("inches", SHOWN)
def test_what_the_order_buys_fills_the_face_of_the_wall(inches: float) -> None:
    # By areas, another way round: a trapezoid over the ground, since the soil runs out to both ends at half the slope
    # limit, and a rectangle in it; stones side by side cover it to within a stone a course and what stands over it.
    wall = the_wall(inches)
    run = inches * INCH / (0.5 * SLOPE)
    face = 60.0 * wall.bury + (60.0 - run) * inches * INCH
    bought = sum(course.count * course.size**2 for course in wall.courses)
    assert face <= bought + 1e-9
    assert bought <= face + sum(course.size**2 + 2.0 * course.size**2 / SLOPE for course in wall.courses)
    # EM 1110-2-1601 ch. 3: W = gamma pi D^3 / 6 at 165 lb/ft3.
    pounds = 165.0 * math.pi / 6.0 * (wall.size / FOOT) ** 3
    assert wall.each / POUND == pytest.approx(pounds, rel=1e-12)
    assert wall.mass / POUND == pytest.approx(sum(course.count for course in wall.courses) * pounds, rel=1e-12)
    # 165 lb/ft3 of rock at 40 % voids is 99 lb/ft3 of crushed stone (arithmetic).
    feet3 = 60.0 / FOOT * (wall.size / FOOT) * (wall.bedding / FOOT)
    assert wall.bedding_mass / POUND == pytest.approx(99.0 * feet3, rel=1e-9)


@pytest.mark.parametrize("inches", SHOWN)
def test_what_drains_fills_the_strip_behind_the_stones_up_to_the_finished_grade(inches: float) -> None:
    # Two courses lean back by a sixth of a stone; behind them 4 in of crushed stone at least, from 18 in on 8 in, for
    # a pipe of 4 in at its foot (common practice). A single row has what its strip of 300 mm leaves.
    site, wall = site_with(inches), the_wall(inches)
    (edge,) = retained_edges(site)
    strip = edge.stones.area / edge.line.length
    lean = 7.0 / 6.0 if len(wall.courses) == 2 else 1.0
    assert wall.drain == pytest.approx(strip - lean * wall.size, abs=1e-9)
    least = 0.0 if len(wall.courses) == 1 else 8.0 * INCH if inches >= 18.0 else 4.0 * INCH
    assert wall.drain >= least - 1e-9
    # By areas: what of each course stands over the ground, as long as the course.
    shown = [course.length * min(course.size, course.foot + course.size) for course in wall.courses]
    assert wall.drain_volume == pytest.approx(sum(shown) * wall.drain, rel=1e-12)
    assert wall.crushed_volume == pytest.approx(wall.drain_volume + wall.bedding_volume, rel=1e-12)
    assert wall.courses[-1].foot + wall.courses[-1].size == pytest.approx(inches * INCH, abs=1e-12)
    assert "of it to drain" in stone_words(wall, "ft")


def test_the_strip_of_the_stones_takes_no_soil_and_the_soil_behind_stands_at_their_top() -> None:
    site = dataclasses.replace(site_with(12.0), berm=Berm(SLOPE, (CrestPoint(40.0, 28.0, 0.2),)))
    ground = yards.make_ground(yards.make_grid(90.0, 0.25))
    proposal = shape_berm(dataclasses.replace(site, bed=dataclasses.replace(site.bed, sod=0.0)), ground)
    (edge,) = retained_edges(site)
    nodes = ground.grid.nodes
    inside = shapely.contains_xy(edge.stones.buffer(-0.01), nodes[:, 0], nodes[:, 1])
    assert proposal.fill.ravel()[inside].max() == 0.0
    behind = shapely.contains_xy(box(38.0, 18.05, 42.0, 18.4), nodes[:, 0], nodes[:, 1])
    assert proposal.fill.ravel()[behind] == pytest.approx(12.0 * INCH, abs=0.01)


def test_upper_courses_end_where_the_soil_runs_out() -> None:
    # At a limit of 1 in 4 the soil runs out to both ends at 1 in 8: the second course of a 20 in wall stands 4 in over
    # the ground (16 in stones, 12 in of the first in it), so 32 in of line at either end carry the base course alone.
    wall = the_wall(20.0, 4.0)
    assert wall.courses[1].length == pytest.approx(4.0 - 2.0 * 32.0 * INCH, abs=1e-9)
    assert wall.standing(2.0) == wall.courses
    assert wall.standing(31.0 * INCH) == wall.courses[:1]


@pytest.mark.parametrize("inches", SHOWN)
def test_the_caution_stands_on_the_wall_that_the_order_lists(inches: float) -> None:
    site = site_with(inches)
    (wall,) = walls(site)
    (high,) = [finding for finding in height_findings(site) if "base stones" in finding.text]
    foot = round(inches + wall.bury / INCH)
    told = re.search(r"stones: (.*) high from", high.text)
    assert told is not None
    feet = re.fullmatch(r"(?:(\d+) ft ?)?(?:([\d.]+) in)?", told[1])
    assert feet is not None
    assert 12 * int(feet[1] or 0) + float(feet[2] or 0) == pytest.approx(foot, abs=0.51)
    words = stone_words(wall, "ft")
    assert f"{wall.count} stones" in words
    heavy = [finding for finding in lift_findings(site) if "across" in finding.text]
    assert bool(heavy) is wall.machine_lift
    assert all(finding.value == wall.each for finding in heavy)


@pytest.mark.parametrize("inches", [5.0, 7.0, 12.0, 24.0, 36.0])
@pytest.mark.parametrize("turn", [0.0, 30.0, -50.0, 180.0])
def test_the_section_draws_the_same_courses(inches: float, turn: float) -> None:
    site = site_with(inches)
    (wall,) = walls(site)
    ground = yards.make_ground(yards.make_grid(90.0, 0.5), lambda x, y: 2.0 + 0.05 * y)
    proposal = yards.make_proposal(ground, 0.0, site.bed.outline)
    way = np.array([math.sin(math.radians(turn)), math.cos(math.radians(turn))])
    middle = np.array([40.0, 18.0])
    start, end = (tuple(middle + step * way) for step in (-6.0, 6.0))
    section = SectionLine("A", start, end)
    (cut,) = stones_cut(Subject(site, ground, proposal, yards.make_work()), section)
    front = 2.0 + 0.05 * 18.0
    assert len(cut.stones) == len(wall.courses)
    for stone, course in zip(cut.stones, wall.courses, strict=True):
        west, low, east, high = stone.bounds
        assert (low, high) == pytest.approx((front + course.foot, front + course.foot + course.size), abs=1e-9)
        assert east - west == pytest.approx(course.size / abs(math.cos(math.radians(turn))))
        # The crest lies north of the line, so the stones stand south of it; the section meets the line at station 6.
        assert west >= 6.0 - 1e-9 if turn == 180.0 else east <= 6.0 + 1e-9
    # What drains lies between the soil and the stones: from the line to their backs, up to the finished grade.
    west, low, east, high = cut.drain.bounds
    assert (low, high) == pytest.approx((front, front + inches * INCH), abs=1e-9)
    assert (east if turn != 180.0 else west) == pytest.approx(6.0, abs=1e-9)
    assert east - west == pytest.approx(wall.drain / abs(math.cos(math.radians(turn))))
    assert cut.drain.intersection(cut.stones[-1]).area < 1e-9
    west, low, east, high = cut.bedding.bounds
    assert (low, high) == pytest.approx((front - wall.bury - wall.bedding, front - wall.bury), abs=1e-9)


@pytest.fixture(scope="module")
def ordered() -> Study:
    root = Path(__file__).resolve().parents[2]
    site = read_site(root / "examples/alder-bend/site.toml")
    west, south, *_ = site.bed.outline.bounds
    lines = (
        ((west + 2.0, south + 2.0), (west + 7.0, south + 1.5)),
        ((west + 2.0, south + 4.0), (west + 9.0, south + 4)),
    )
    edges = tuple(
        RetainedEdge(name, line, inches * INCH)
        for name, line, inches in zip(("low", "high"), lines, (5.0, 10.0), strict=True)
    )
    return run_site(dataclasses.replace(site, retained_edge=edges))


def test_order_and_workbook_list_course_by_course(ordered: Study, tmp_path: Path) -> None:
    built = walls(ordered.site)
    listed = order_plain(ordered)["stones"]
    assert isinstance(listed, list)
    for wall, plain in zip(built, listed, strict=True):
        assert plain["overall_m"] == pytest.approx(plain["height_m"] + plain["bury_m"], abs=1e-12)
        assert [course["count"] for course in plain["courses"]] == [course.count for course in wall.courses]
        assert plain["count"] == sum(course["count"] for course in plain["courses"])
        assert plain["total_kg"] == pytest.approx(plain["count"] * plain["each_kg"], rel=1e-12)
    book = openpyxl.load_workbook(write_book(ordered, tmp_path / "order.xlsx") or tmp_path / "order.xlsx")
    names = [cell.value for cell in book["Order"]["A"]]
    assert names.count("base course") == 2
    assert names.count("course 2") == sum(len(wall.courses) == 2 for wall in built)
    assert names.count("bedding of crushed stone") == 2


@pytest.mark.parametrize("height", [0.2, 0.4, 0.46, 0.6, 1.0, 1.8])
def test_the_stones_that_are_named_fill_what_is_buried_and_what_shows(height):
    # Arithmetic: courses of one size, one on the other, from the foot of the base stones to the top of the soil held.
    edge = RetainedEdge("stones", ((5.5, 6.0), (14.5, 6.0)), height)
    site = yards.make_site(box(6.0, 5.0, 14.0, 12.0), retained_edge=(edge,))
    (wall,) = walls(site)
    assert sum(course.size for course in wall.courses) == pytest.approx(wall.bury + height, abs=1e-9)
    assert wall.courses[0].foot == pytest.approx(-wall.bury, abs=1e-9)
