"""An arborist with somebody else's plan and nothing else: a right root check in two steps, each answer saying why.

Counted are the commands typed and the messages read, not minutes.
"""

from __future__ import annotations

import json
import math
from collections.abc import Callable
from pathlib import Path

import pytest
from foreign_plans import MIDDLE, PLANS, REACH, TREE, TRUNK, VOLUME

from terrain.units import show_span


def told(text: str) -> str:
    return " ".join(text.split())


@pytest.mark.slow
def test_a_plan_whose_layers_say_what_they_are_takes_one_step(hummock: Callable, tmp_path: Path) -> None:
    PLANS["layers by the national standard"].draw(tmp_path / "plan.dxf")
    ended = hummock("trees", "--plan", tmp_path / "plan.dxf")
    assert ended.returncode == 1, ended.stderr  # soil in the zone that the rule keeps free
    said = told(ended.stdout)
    for words in (
        "V-TOPO-MINR: 6 level lines",
        "taken for existing grade",
        "taken for proposed grade",
        "taken for the outline of the work",
        "1 tree symbol; taken for trees",
        "Not used A-ANNO (1 text)",
        "bare figures of trunks were taken as in",
        "T-1 broken keep-off of 23 ft",
        "as drawn: fill 18.",
        "Slopes steepest",
        "Look",
    ):
        assert words in said
    assert max(map(len, ended.stdout.splitlines())) <= 80
    summary = json.loads((tmp_path / "out/trees.json").read_text(encoding="utf-8"))
    work = summary["earthwork"]
    low, high = work["fill_placed_low_m3"], work["fill_placed_high_m3"]
    assert low < work["fill_placed_m3"] < high
    assert f"The doubt of the existing grade alone: fill {show_span(low, high, 'ft')} in nine cases of ten" in said
    assert "How the drawn grade runs between its own lines is not in it." in said
    tree = summary["trees"][0]
    # 1 ft of radius an inch of trunk; the soil's edge is where its depth passes the noise of a survey.
    assert tree["root_zone_m"] == pytest.approx(12.0 * TRUNK, abs=0.01)
    assert tree["nearest_fill_m"] == pytest.approx(math.dist(TREE, MIDDLE) - REACH, abs=0.6)
    assert summary["earthwork"]["fill_placed_m3"] == pytest.approx(VOLUME, rel=0.05)
    assert {one["layer"]: one["taken_for"] for one in summary["plan"]["layers"]} == {
        "A-ANNO": None,
        "L-GRAD-CONT": "proposed",
        "L-LIMIT-WORK": "outline",
        "V-TOPO-MINR": "existing",
        "V-VEGE-TREE": "trees",
    }
    assert {finding["topic"] for finding in summary["findings"]} >= {"trees", "slopes", "drainage", "ground", "safety"}
    assert (tmp_path / "out/trees.pdf").read_bytes().startswith(b"%PDF")


def test_a_plan_whose_layers_say_nothing_takes_two(hummock: Callable, tmp_path: Path) -> None:
    plan = PLANS["layers without words"]
    plan.draw(tmp_path / "plan.dxf")
    asked = hummock("trees", "--plan", tmp_path / "plan.dxf")
    assert asked.returncode == 2
    assert not (tmp_path / "out").exists()
    lines = asked.stderr.splitlines()
    assert "Name them: --layer existing=NAME --layer proposed=NAME." in lines[0]
    assert len(lines) == 5  # the question, and a line for each layer
    assert any("plan.dxf layer 9: 1 tree symbol; taken for trees." in line for line in lines)


@pytest.mark.slow
def test_and_the_second_step_names_them(hummock: Callable, tmp_path: Path) -> None:
    plan = PLANS["layers without words"]
    plan.draw(tmp_path / "plan.dxf")
    ended = hummock("trees", "--plan", tmp_path / "plan.dxf", *plan.typed, "--json")
    assert ended.returncode == 1, ended.stderr
    assert json.loads(ended.stdout)["earthwork"]["fill_placed_m3"] == pytest.approx(VOLUME, rel=0.05)


WRONG = {
    ("--layer", "bushes=9"): "this is no use and its layers. Accepted: USE=LAYER[,LAYER], such as trees=TREE_EX",
    ("--layer", "trees=99"): 'nothing is drawn on a layer "99" of plan.dxf.',
    ("--layer", "trees=9", "--layer", "outline=9"): "the layer is asked for as trees too",
    ("--units", "furlong"): '"furlong" is no unit of a drawing. Accepted: ft, in, m, cm, mm.',
    ("--trunk", "24"): "a trunk is told with its unit",
    ("--trunk", "elm=24 in", "--layer", "existing=12", "--layer", "proposed=17"): 'has no tree "elm"',
    ("--rule", "2 ft per inch"): "rule",
    ("--max-slope", "0:1"): "--max-slope",
}


@pytest.mark.parametrize("typed", WRONG)
def test_what_cannot_be_is_refused_with_what_can(typed: tuple[str, ...], hummock: Callable, tmp_path: Path) -> None:
    PLANS["layers without words"].draw(tmp_path / "plan.dxf")
    ended = hummock("trees", "--plan", tmp_path / "plan.dxf", *typed)
    assert ended.returncode == 2
    assert WRONG[typed] in ended.stderr
    assert "Traceback" not in ended.stderr


def test_a_site_file_or_a_plan_is_needed_and_only_one(hummock: Callable, tmp_path: Path) -> None:
    for words in ((), ("site.toml", "--plan", "plan.dxf"), ("site.toml", "--units", "ft")):
        ended = hummock("trees", *words, cwd=tmp_path)
        assert ended.returncode == 2
        assert "--plan" in ended.stderr or "plan is checked without" in ended.stderr
