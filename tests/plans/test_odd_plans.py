"""Odd plans are worked through or refused in words: slivers, single lines, heaped corners, trees anywhere."""

from __future__ import annotations

import math
import random
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import ezdxf
import pytest

from terrain.errors import MOST_TOLD, HummockError
from terrain.planned import run_plan
from terrain.site import PlanOptions, read_design
from terrain.site.model import GridSpec

CELL = 0.5  # metres
Draw = Callable[[Any, random.Random, str], None]


def _contours(space: Any, chance: random.Random, layer: str) -> None:
    for _ in range(chance.randint(1, 6)):
        start = chance.uniform(-20, 60), chance.uniform(-20, 60)
        line = [start]
        for _ in range(chance.randint(1, 8)):
            line.append((line[-1][0] + chance.uniform(-16, 16), line[-1][1] + chance.uniform(-16, 16)))
        level = 10.0 + chance.choice((0.0, 0.1, 0.5, 0.5, 3.0, 80.0)) * chance.random()
        space.add_lwpolyline(line, close=chance.random() < 0.3, dxfattribs={"layer": layer, "elevation": level})


def _spots(space: Any, chance: random.Random, layer: str) -> None:
    one_line = chance.random() < 0.3
    for k in range(chance.randint(1, 12)):
        x = chance.uniform(0, 40)
        spot = (x, 2.0 if one_line else chance.uniform(0, 40), 10.0 + 0.02 * x + chance.choice((0, 0, 0.6)))
        space.add_point(spot, dxfattribs={"layer": layer})
        if k % 3 == 0:
            space.add_point(spot, dxfattribs={"layer": layer})


def _faces(space: Any, chance: random.Random, layer: str) -> None:
    for _ in range(chance.randint(1, 9)):
        corners = [(chance.uniform(0, 40), chance.uniform(0, 40), chance.uniform(10, 10.6)) for _ in range(3)]
        space.add_3dface([*corners, corners[chance.choice((0, 2))]], dxfattribs={"layer": layer})


def _rising(space: Any, chance: random.Random, layer: str) -> None:
    points = [(chance.uniform(0, 40), chance.uniform(0, 40), chance.uniform(10, 10.5)) for _ in range(5)]
    space.add_polyline3d(points, dxfattribs={"layer": layer})


def odd_plan(path: Path, number: int) -> None:
    chance = random.Random(f"odd plan {number}")
    made = ezdxf.new("R2010", units=chance.choice((6, 6, 6, 2)))
    space = made.modelspace()
    ways: tuple[Draw, ...] = (_contours, _spots, _faces, _rising)
    for layer in ("EX-GRADE", "PROP-GRADE"):
        for draw in chance.sample(ways, chance.randint(1, 3)):
            draw(space, chance, layer)
    if chance.random() < 0.6:
        turns = sorted(chance.uniform(0.0, 2.0 * math.pi) for _ in range(chance.randint(3, 9)))
        reach = [chance.uniform(6.0, 22.0) for _ in turns]
        corners = [(20 + r * math.cos(t), 20 + r * math.sin(t)) for t, r in zip(turns, reach, strict=True)]
        space.add_lwpolyline(corners, close=True, dxfattribs={"layer": "OUTLINE"})
    for k in range(chance.randint(1, 4)):
        place = (chance.uniform(-16, 56), chance.uniform(-16, 56))
        space.add_circle(place, chance.choice((0.1, 2.0, 6.0)), dxfattribs={"layer": "TREES"})
        if k % 2:
            space.add_circle(place, 0.2, dxfattribs={"layer": "TREES"})
    if chance.random() < 0.3:
        space.add_lwpolyline([(4, 4), (16, 4), (16, 16)], close=True, dxfattribs={"layer": "BUILDING"})
        space.add_lwpolyline([(-40, -40), (90, -40), (90, 90)], close=True, dxfattribs={"layer": "PROPERTY LINE"})
    made.saveas(path)


@pytest.mark.usefixtures("forked_readers")
@pytest.mark.filterwarnings("error", "ignore::ResourceWarning")
@pytest.mark.parametrize(
    "numbers",
    [
        pytest.param((7, 8, 9), id="quick"),
        pytest.param((4, 5, 6, 10, 11, 12, 13), id="share", marks=pytest.mark.slow),
        pytest.param((0, 1, 2, 3, *range(14, 400)), id="whole", marks=pytest.mark.fuzz),
    ],
)
def test_an_odd_plan_is_worked_through_or_refused_in_words(numbers: tuple[int, ...], tmp_path: Path) -> None:
    worked = 0
    for number in numbers:
        odd_plan(tmp_path / "plan.dxf", number)
        try:
            worked += work_through(tmp_path / "plan.dxf")
        except HummockError as error:
            lines = str(error).split("\n")
            assert len(lines) <= MOST_TOLD + 1, number
        except Exception as error:
            raise AssertionError(f"odd plan {number}") from error
    assert worked > len(numbers) // 4  # it asks of the stages, and not of the refusals alone


def work_through(path: Path) -> int:
    design = read_design(path, PlanOptions(trunks={"": 0.5}))
    study = run_plan(replace(design, site=replace(design.site, grid=GridSpec(CELL))))
    checks, depth = study.work.checks, float(abs(study.proposal.mesh.fill).max())
    assert study.work.fill_placed >= 0.0
    # The cells along the edge of the work count whole or not at all.
    assert abs(checks.grid - checks.mesh) <= design.site.bed.outline.length * CELL * depth + 1e-6
    assert len(study.review.trees) == len(design.site.tree)
    return 1
