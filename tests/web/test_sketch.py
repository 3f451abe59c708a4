"""The phone's sketch: every point has its name, and no name lies on another, on a point or off the paper."""

from __future__ import annotations

import json
import random
import subprocess
from itertools import combinations
from typing import Any

import pytest
import shapely
from live_yards import ROOT
from odd_yards import odd_sites
from shapely.geometry import LineString, Point, Polygon, box
from shipped import study_of
from test_page_scripts import node

from terrain.errors import InputError
from terrain.field import firm_points
from terrain.ground import model_ground
from terrain.shape import shape_berm

WIDE = 340.0  # of the sketch


def sketched(yards: list[list[dict[str, Any]]]) -> list[dict[str, Any]]:
    command = [node(), str(ROOT / "tests/web/scripts/sketched.js")]
    told = subprocess.run(command, input=json.dumps(yards), capture_output=True, text=True, timeout=120, check=True)
    return json.loads(told.stdout)  # type: ignore[no-any-return]


def letters_of(point: dict[str, Any], size: float) -> Polygon:
    """What a name covers: capitals are 0.73 of the size high and tails hang 0.24 of it in the page's letters."""
    return box(point["left"], point["base"] - 0.73 * size, point["left"] + point["wide"], point["base"] + 0.24 * size)


def check(drawn: dict[str, Any]) -> None:
    points, size = drawn["points"], drawn["size"]
    assert all(point["left"] is not None for point in points), [point["name"] for point in points]
    names = [letters_of(point, size) for point in points]
    paper = box(0.0, 0.0, WIDE, drawn["high"])
    assert all(paper.covers(name) for name in names)
    assert not [one for one in combinations(names, 2) if one[0].intersects(one[1])]
    spots = [Point(point["at"]).buffer(5.0) for point in points]
    assert not shapely.union_all(spots).intersects(shapely.union_all(names))
    leads = [LineString(point["lead"]) for point in points if point["lead"]]
    assert not [one for one in combinations(leads, 2) if one[0].crosses(one[1])]
    assert not [name for name in names for lead in leads if name.buffer(-1.0).intersects(lead)]


def points_of(site: Any, proposal: Any) -> list[dict[str, Any]]:
    return [{"name": point.name, "at": list(point.at)} for point in firm_points(site, proposal)]


def test_every_point_of_the_shipped_yards_has_its_name() -> None:
    yards = [points_of(study_of(yard).site, study_of(yard).proposal) for yard in ("alder-bend", "larkspur-rise")]
    assert all(yards)
    for drawn in sketched(yards):
        check(drawn)


def test_points_in_crowds_and_in_one_place_keep_their_names() -> None:
    draw = random.Random(8)
    yards = []
    for _ in range(40):
        middles = [(draw.uniform(0, 40), draw.uniform(0, draw.choice((2, 30)))) for _ in range(draw.randint(1, 4))]
        spread = draw.choice((0.0, 0.5, 4.0))
        places = [
            [at + draw.uniform(-spread, spread) for at in draw.choice(middles)] for _ in range(draw.randint(1, 14))
        ]
        names = ["P", "house", "corner", "patio NW"]
        yards.append([{"name": f"{draw.choice(names)} {k}", "at": at} for k, at in enumerate(places)])
    for drawn in sketched(yards):
        check(drawn)


@pytest.mark.slow
def test_every_point_of_forty_odd_yards_has_its_name() -> None:
    yards = []
    for _, site in odd_sites(range(60)):
        try:
            known = points_of(site, shape_berm(site, model_ground(site)))
        except InputError:
            continue
        if known:
            yards.append(known)
    assert len(yards) >= 40
    for drawn in sketched(yards):
        check(drawn)
