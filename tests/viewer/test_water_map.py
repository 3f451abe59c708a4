"""The map of the water: arrows run the way the ground falls, ponds and exits stand where the review has them."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import shapely
from scenario import yard
from shapely.geometry import Point

from terrain.findings import Finding
from terrain.review.drainage import check_drainage
from terrain.review.water import Exit, Pond, Water
from viewer.page.subject import Subject
from viewer.sheets.water_map import (
    draw_water,
    exit_spots,
    exit_words,
    facts,
    flow_arrows,
    marked_exits,
    pond_areas,
    water_labels,
    water_page,
    water_sheet,
)

SITE, GROUND, PROPOSAL, WORK = yard("ft")
SUBJECT = Subject(SITE, GROUND, PROPOSAL, WORK)
SHEET = water_sheet(SUBJECT)


@pytest.fixture(scope="module")
def water() -> Water:
    return check_drainage(SITE, GROUND, PROPOSAL).water


def elevation_at(water: Water, spot: np.ndarray) -> float:
    """Finished elevation with every hollow full, at a point on the paper."""
    place = (spot - np.array(SHEET.frame[:2])) / SHEET.scale.points + np.array(SHEET.window[:2])
    return float(PROPOSAL.grid.sample(PROPOSAL.elevation + water.stands, place[None])[0])


def test_arrows_never_point_uphill(water: Water) -> None:
    arrows = flow_arrows(SHEET, SUBJECT, water)
    assert len(arrows) > 40
    for arrow in arrows:
        ends = shapely.get_coordinates(arrow)[[0, -1]]
        start, end = (elevation_at(water, spot) for spot in ends)
        # A way starts at the nearest node, half a cell off at most: the ground changes by no more than that at 4:1.
        assert end <= start + 0.25 * PROPOSAL.grid.cell


def test_no_arrow_starts_under_a_building(water: Water) -> None:
    house = SHEET.shape(SITE.building[0].outline).buffer(-2.0)
    starts = [Point(shapely.get_coordinates(arrow)[0]) for arrow in flow_arrows(SHEET, SUBJECT, water)]
    assert not any(house.contains(start) for start in starts)


def test_every_exit_that_carries_water_is_on_the_sheet(water: Water) -> None:
    assert len(exit_spots(SHEET, water)) == len(marked_exits(water)) >= 1
    whole = sum(one.after for one in water.exits)
    unmarked = [one for one in water.exits if one not in marked_exits(water)]
    assert sum(one.after for one in unmarked) < 0.08 * whole  # four sides of under a fiftieth each
    assert len(facts(water, "ft")) == len(water.exits) + 1  # all of them are told


def test_an_exit_that_the_berm_opens_or_closes_is_marked(water: Water) -> None:
    at = (0.0, 0.0)
    exits = (Exit("south", at, 95.0, 99.0, False), Exit("west", at, 5.0, 0.0, False))
    all_of_them = (*exits, Exit("east", (0.0, 0.0), 1.0, 1.0, False))
    assert marked_exits(replace(water, exits=all_of_them)) == exits


def test_trees_are_named_and_their_circles_in_the_legend(water: Water) -> None:
    said = [item.get_text() for item in water_page(SUBJECT, water).axes.texts]
    assert all(
        word in said
        for word in (*(tree.name for tree in SITE.tree), "keep-off: no fill, no digging", "root protection zone")
    )


def with_pond(water: Water) -> Water:
    """A pond 6 cm deep, 1 m wide, put at the middle of the bed."""
    middle = SITE.bed.outline.centroid
    grid = water.grid
    stands = np.where(np.hypot(grid.x[None] - middle.x, grid.y[:, None] - middle.y) < 0.5, 0.06, 0.0)
    return replace(water, stands=stands, ponds=(Pond((middle.x, middle.y), 0.06, 0.047, 0.785),))


def test_a_pond_is_tinted_where_it_stands_and_told_with_depth_and_volume(water: Water) -> None:
    pond = with_pond(water)
    (area,) = pond_areas(SHEET, pond)
    on_ground = area.area / SHEET.scale.points**2
    # A disc of radius 0.5 m; the edge runs between nodes a cell apart, 10 %.
    assert on_ground == pytest.approx(np.pi * 0.25, rel=0.10)
    texts = [item.label.text for item in water_labels(SHEET, SUBJECT, pond)]
    assert any(text.startswith("2 1/4 in deep, ") for text in texts)
    assert dict(facts(pond, "ft"))["made to stand"] == "0.1 cu yd"
    assert dict(facts(replace(water, ponds=()), "ft"))["made to stand"] == "none"


def test_ground_that_sends_water_over_a_side_is_told_after_and_before() -> None:
    assert exit_words(Exit("west", (0.0, 0.0), 10.0, 12.5, True), "m") == "12.5, was 10.0 m2"


def test_the_page_tells_the_findings_on_water_in_their_own_words(water: Water) -> None:
    text = "The berm makes water stand near x 3.00, y 4.00."
    page = water_page(SUBJECT, water, [Finding("caution", "drainage", text), Finding("caution", "trees", "other")])
    said = [item.get_text() for item in page.axes.texts]
    assert "Where water goes" in said
    assert text in " ".join(word for word in said if word)
    assert "other" not in said


def test_it_writes_one_picture(water: Water, tmp_path: Path) -> None:
    path = draw_water(SUBJECT, water, [], tmp_path)
    assert path.name == "water.png"
    assert path.read_bytes().startswith(b"\x89PNG")
