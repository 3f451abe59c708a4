"""A dozen plans by other hands: each is read right, or asked about and then read right."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from foreign_plans import MIDDLE, PLANS, REACH, TOP, TREE, TRUNK, VOLUME, ForeignPlan, depth, existing, proposed

from cli.plan import plan_options
from terrain.errors import InputError
from terrain.flow import Study
from terrain.planned import run_plan
from terrain.site import PlanDesign, read_design
from terrain.site.model import GridSpec

pytestmark = pytest.mark.usefixtures("forked_readers")


def design_of(path: Path, typed: tuple[str, ...] = ()) -> PlanDesign:
    pairs = list(zip(typed[::2], typed[1::2], strict=True))
    by = {flag: [value for name, value in pairs if name == flag] for flag, _ in pairs}
    asked = plan_options(by.get("--layer", []), (by.get("--units") or [None])[0], by.get("--trunk", []), None, None)
    return read_design(path, asked)


def drawn(name: str, folder: Path) -> tuple[ForeignPlan, PlanDesign]:
    plan = PLANS[name]
    path = folder / "plan.dxf"
    plan.draw(path)
    return plan, design_of(path, plan.typed)


@pytest.mark.parametrize("name", PLANS)
def test_it_is_read_right_or_asked_about_first(name: str, tmp_path: Path) -> None:
    plan = PLANS[name]
    if plan.asked:
        plan.draw(tmp_path / "plan.dxf")
        with pytest.raises(InputError) as fault:
            design_of(tmp_path / "plan.dxf")
        assert plan.asked in str(fault.value)
        assert "--" in str(fault.value)  # what to type
    _, design = drawn(name, tmp_path)
    site, (east, north) = design.site, plan.origin
    assert site.units == plan.units
    assert len(site.tree) == 1
    # A symbol stands where it was put: 1e-6 m, in millions of feet 1e-6 of what the last digit holds.
    assert math.dist(site.tree[0].at, (TREE[0] + east, TREE[1] + north)) < 1e-5
    assert site.tree[0].trunk == pytest.approx(TRUNK, abs=0.002)  # figures on plans have two decimals or fewer
    shots = site.survey.shots
    off = shots[:, 2] - existing(shots[:, 0] - east, shots[:, 1] - north)
    assert np.abs(off).max() < 0.004  # written to hundredths of a foot
    corners = design.proposed.corners
    off = corners[:, 2] - proposed(corners[:, 0] - east, corners[:, 1] - north)
    assert np.abs(off).max() < 0.03  # chords of contours, a sixth of the finest interval
    if plan.outlined:
        assert site.bed.outline.area == pytest.approx(math.pi * REACH**2, rel=0.01)  # a polygon of 48 sides
    assert (
        site.bed.outline.centroid.distance(site.bed.outline.centroid.__class__(MIDDLE[0] + east, MIDDLE[1] + north))
        < 0.5
    )


def worked(design: PlanDesign) -> Study:
    """On wider cells than the tool takes: what is asked here does not hang on fineness."""
    return run_plan(replace(design, site=replace(design.site, grid=GridSpec(0.15))))


def share_under_soil(study: Study) -> float:
    """Share of the root zone under more than the noise of a survey, on a fine lattice of its own."""
    radius = study.review.trees[0].root_zone
    x, y = np.meshgrid(*(np.linspace(c - radius, c + radius, 801) for c in TREE))
    inside = np.hypot(x - TREE[0], y - TREE[1]) < radius
    return float((depth(x, y) > 0.0127)[inside].mean())


CHECKED = ("layers by the national standard", "far coordinates and splines", "faces without an edge")
HOW_OFTEN = {
    CHECKED[0]: (),
    **dict.fromkeys((*CHECKED[1:], "a German office", "millimetres with written spots", "inches"), pytest.mark.slow),
}


# All are read right, or asked about, in the test above; worked through in CI are those that differ in what is read.
@pytest.mark.parametrize("name", [pytest.param(name, marks=HOW_OFTEN.get(name, pytest.mark.fuzz)) for name in PLANS])
def test_its_roots_volumes_and_slopes_come_out_as_drawn(name: str, tmp_path: Path) -> None:
    _, design = drawn(name, tmp_path)
    study = worked(design)
    check = study.review.trees[0]
    # The closed form of a raised cosine, and what contours at half a foot or a decimetre leave of it.
    assert study.work.fill_placed == pytest.approx(VOLUME, rel=0.05)
    assert study.work.cut_bank < 0.01 * VOLUME
    assert study.proposal.fill.max() == pytest.approx(TOP, abs=0.05)
    assert check.share_of_root_zone_covered == pytest.approx(share_under_soil(study), abs=0.03)
    assert study.proposal.steepest == pytest.approx(math.pi * TOP / 2.0 / REACH + 0.03, abs=0.06)
    assert check.fill_in_keep_off > 0.0
    assert check.mulched_in_keep_off == 0.0  # the plan strips nothing and lays nothing
    assert study.review.stopped  # no keep-off is stated: the rule's zone is, and soil lies in it
    checks = study.work.checks
    assert checks.grid == pytest.approx(checks.mesh, rel=0.01)
    assert checks.sections == pytest.approx(checks.mesh, rel=0.01)


def test_trees_all_over_the_sheet_are_left_out_by_name_and_need_no_trunk(tmp_path: Path) -> None:
    import ezdxf

    path = tmp_path / "plan.dxf"
    PLANS["layers by the national standard"].draw(path)
    made = ezdxf.readfile(path)
    for k in range(12):
        symbol = made.modelspace().add_blockref(
            "TREE-DECID", (400.0 + 30.0 * k, -300.0), dxfattribs={"layer": "V-VEGE-TREE"}
        )
        symbol.add_auto_attribs({"TAG": f"F-{k}", "DBH": "", "SPECIES": "elm"})
    made.saveas(path)
    design = design_of(path)
    assert [tree.name for tree in design.site.tree] == ["T-1"]
    far = next(text for text in design.assumed if "too far off the work" in text)
    assert far.endswith("not checked: F-0, F-1, F-2, F-3, F-4, F-5, F-6, F-7 and 4 more.")
    made.modelspace().delete_entity(
        next(one for one in made.modelspace().query("INSERT") if one.get_attrib_text("TAG") == "T-1")
    )
    made.saveas(path)
    with pytest.raises(InputError, match='no tree stands near the work: the nearest, "F-0", is '):
        design_of(path)
