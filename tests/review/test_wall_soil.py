"""Soil and mulch beside a wall: told where the bed brings them there, with what is left below the floor."""

from __future__ import annotations

from dataclasses import replace

import pytest
import review_yards as yards
from shapely.geometry import box

from terrain.findings import Finding
from terrain.limits import INCH
from terrain.review.wall_soil import soil_at_wall, wall_soil_findings
from terrain.site.model import Building, KeepClear

BED = box(6.0, 6.0, 14.0, 12.5)  # its north side is the house's wall; the ground stands at 0.375 there
SHAPE = {"bed": BED, "crest": ((10.0, 10.5, 0.5),)}


def house(floor: float | None = 1.0, south: float = 12.5) -> Building:
    return Building("house", box(5.0, south, 15.0, 18.0), floor)


def told(building: Building, **values: object) -> list[Finding]:
    site, ground, proposal, found = yards.reviewed(building=(building,), **(SHAPE | values))
    said = list(wall_soil_findings(site, building, ground, proposal))
    assert all(finding in found.findings for finding in said)
    return said


@pytest.mark.parametrize(
    ("floor", "level", "words"),
    [
        # IRC R404.1.6 and R317.1: 6 in. 7 cm of mulch on ground at 0.375, as good as no soil: it tops out at 0.445.
        (0.61, "caution", "lies against house and holds damp to the wall"),
        (0.59, "caution", "comes within 14.5 cm of its floor. Leave the mulch off there: 15 cm stays clear"),
        (0.44, "caution", "rises over its floor"),
        (None, "caution", "lies against house and holds damp to the wall"),
    ],
)
def test_mulch_that_comes_to_a_wall_is_told_with_what_is_left_below_the_floor(
    floor: float | None, level: str, words: str
) -> None:
    (found,) = told(house(floor))
    assert (found.level, found.topic) == (level, "drainage")
    assert found.text.startswith("Mulch 7 cm deep")
    assert words in found.text
    assert found.at[1] == pytest.approx(12.5, abs=0.1524 + 1e-9)
    if found.value < 0.07:
        assert found.value == pytest.approx(floor - 0.445, abs=0.003)  # a little soil lies under the mulch


def test_soil_that_takes_the_clearance_is_a_stop_and_mulch_alone_is_not() -> None:
    # 20 cm of soil to the wall on level ground: a plate that no shaping would lay, for the shape eases to the wall.
    for floor, level in ((0.40, "caution"), (0.34, "stop")):
        building = Building("house", house().outline, floor)
        ground = yards.make_ground(yards.make_grid(), 0.0)
        proposal = yards.make_proposal(ground, 0.2, BED, yards.plates((BED, 0.2)))
        site = yards.make_site(BED, building=(building,))
        (found,) = wall_soil_findings(site, building, ground, proposal)
        assert found.level == level
        assert found.text.startswith("Soil 20 cm deep lies against house")


@pytest.mark.parametrize(
    "values",
    [
        {"building": house(south=12.5 + 0.1524 + 0.01)},  # a hand's width clear of the wall
        {"building": house(), "mulch": 0.0},  # no mulch, and the shape eases to nothing at the wall
        {"building": house(), "keep_clear": (KeepClear("strip", box(5.0, 12.0, 15.0, 12.5)),)},
    ],
)
def test_a_bare_strip_at_the_wall_is_not_charged(values: dict[str, object]) -> None:
    others = {key: value for key, value in values.items() if key != "building"}
    assert told(values["building"], **others) == []


def test_both_are_named_where_both_lie_there() -> None:
    ground = yards.make_ground(yards.make_grid(), 0.0)
    proposal = yards.make_proposal(ground, 0.2, BED, yards.plates((BED, 0.2)))
    site = yards.make_site(BED, "ft", building=(house(),))
    site = replace(site, bed=replace(site.bed, mulch=3.0 * INCH))
    found = soil_at_wall(site, house(), ground, proposal)
    assert (found.soil, found.mulch) == (pytest.approx(0.2, abs=1e-9), pytest.approx(3.0 * INCH, abs=1e-12))
    assert found.left == pytest.approx(1.0 - 0.2 - 3.0 * INCH, abs=1e-9)
    (said,) = wall_soil_findings(site, house(), ground, proposal)
    assert "Soil 7 3/4 in deep and mulch 3 in deep lie against house and hold damp" in said.text
