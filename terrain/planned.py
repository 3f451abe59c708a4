"""Somebody else's design worked through every stage but the shaping: ground, earthwork, order, review."""

from __future__ import annotations

from dataclasses import replace

from terrain.expect import expect
from terrain.findings import Finding
from terrain.flow import Progress, Study, measured_study, quietly
from terrain.ground import Ground, model_ground
from terrain.review import Review
from terrain.shape import GivenGrade, given_proposal
from terrain.site import PlanDesign, corners_of, spread_over

_OURS, _THEIRS = "site file", "plan"
_AIMED = 2500  # places of proposed grade that its surface goes through


def run_plan(design: PlanDesign, *, progress: Progress = quietly) -> Study:
    """Work a plan through: existing grade, its own proposed grade, then the same earthwork, order and review as ours.

    Raises
    ------
    InputError
        Where its elevations carry no surface.
    """
    expect("run_plan", design=(design, PlanDesign))
    site = design.site
    progress("modelling the ground")
    ground = _drawn(model_ground(site))
    progress("laying the proposed grade")
    window = site.bed.outline.envelope
    faceted = len(design.proposed.faces) > 0
    points = corners_of(design.proposed.faces, window) if faceted else spread_over(design.proposed, window, _AIMED)
    study = measured_study(site, ground, given_proposal(site, ground, GivenGrade(points, faceted)), progress)
    return replace(study, review=_of_the_plan(study.review, design.assumed))


def _drawn(ground: Ground) -> Ground:
    """Ground without words on single shots: places on a contour are none, and nobody can read them again."""
    return replace(ground, check=replace(ground.check, doubtful=(), again=()))


def _of_the_plan(found: Review, assumed: tuple[str, ...]) -> Review:
    """The review with the plan for the source of its bounds, and with what was assumed of the plan at its end."""
    notes = tuple(Finding("note", "ground", text, source=f"the {_THEIRS}") for text in assumed)
    checks = tuple(replace(one, findings=tuple(_sourced(each) for each in one.findings)) for one in found.checks)
    return replace(found, findings=(*(_sourced(one) for one in found.findings), *notes), checks=checks)


def _sourced(finding: Finding) -> Finding:
    return replace(finding, text=finding.text.replace(_OURS, _THEIRS), source=finding.source.replace(_OURS, _THEIRS))
