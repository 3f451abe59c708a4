"""The summary says what the stages answered, in plain values that strict JSON holds."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from pathlib import Path

import pytest
from shipped import study_of

from terrain.files.summary import summary_of
from terrain.flow import Study, run_site
from terrain.site.read import read_site

LEDGER = {"name", "from", "to", "bank_m3", "loose_m3", "placed_m3"}
OFFSET = (1000.0, 2000.0, 30.0)


@pytest.fixture(scope="module")
def study() -> Study:
    return study_of("larkspur-rise")


def test_a_summary_survives_strict_json_unchanged(study: Study) -> None:
    summary = summary_of(study, OFFSET)
    assert json.loads(json.dumps(summary, allow_nan=False)) == summary


def test_a_figure_that_is_not_finite_becomes_null(study: Study) -> None:
    trees = tuple(replace(tree, nearest_fill=math.inf, root_zone=math.nan) for tree in study.review.trees)
    told = summary_of(replace(study, review=replace(study.review, trees=trees)), OFFSET)
    assert [tree["nearest_fill_m"] for tree in told["trees"]] == [None, None]
    assert [tree["root_zone_m"] for tree in told["trees"]] == [None, None]
    json.dumps(told, allow_nan=False)


def test_every_figure_is_the_stage_value_itself(study: Study) -> None:
    summary = summary_of(study, OFFSET)
    work, proposal = study.work, study.proposal
    assert summary["site"] == "Larkspur Rise, back yard"
    assert summary["offset_m"] == list(OFFSET)
    assert summary["ground"]["nodes"] == study.ground.elevation.size
    assert summary["ground"]["method"] == study.ground.check.method
    assert summary["ground"]["bed_share_surveyed"] == pytest.approx(1.0, abs=1e-9)
    assert summary["berm"]["limit"] == 0.25
    assert summary["berm"]["height_m"] == max(proposal.fill.max(), proposal.mesh.fill.max())
    assert summary["berm"]["area_m2"] == study.site.bed.outline.area
    for key, value in {
        "fill_placed_m3": work.fill_placed,
        "fill_placed_low_m3": work.fill_placed_low,
        "fill_placed_high_m3": work.fill_placed_high,
        "cut_bank_m3": work.cut_bank,
        "sod_m3": work.sod,
        "mulch_m3": work.mulch,
    }.items():
        assert summary["earthwork"][key] == value
    order = study.order
    for key, value in {
        "expected_loose_m3": order.expected,
        "low_loose_m3": order.low,
        "high_loose_m3": order.high,
        "chance": order.chance,
        "covered": order.covered,
        "quantity_loose_m3": order.quantity,
        "on_hand_loose_m3": order.on_hand,
        "short_median_m3": order.short_median,
        "short_95_m3": order.short_95,
        "leaves_loose_m3": order.leaves,
        "trucks": order.haul.trucks,
        "barrows": order.haul.barrows,
        "cost": order.cost,
    }.items():
        assert summary["order"][key] == value
    assert [set(line) for line in summary["soil"]] == [LEDGER] * len(order.ledger)
    assert summary["earthwork"]["checks_m3"] == {
        "grid": work.checks.grid,
        "mesh": work.checks.mesh,
        "sections": work.checks.sections,
    }
    assert [sign["sign"] for sign in summary["look"]["signs"]] == [sign.sign for sign in study.review.look.signs]
    assert [one["text"] for one in summary["findings"]] == [one.text for one in study.review.findings]


def test_the_flow_tells_each_step_once(root: Path) -> None:
    steps: list[str] = []
    run_site(read_site(root / "examples/larkspur-rise/site.toml"), resolution=0.5, progress=steps.append)
    assert len(steps) == len(set(steps)) == 4
