"""The slope map's steps are the slopes that stand there; every sign has its profile through its place."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations
from pathlib import Path

import numpy as np
import pytest
from paper_words import faults_of
from random_sites import ground_on, site_with
from scenario import yard
from shapely.geometry import Point, box
from shipped import study_of

from terrain.grid import Grid
from terrain.look.look import natural_look
from terrain.shape.berm import shape_berm
from terrain.site.features import Basin, RetainedEdge
from viewer.page.labels import label_box
from viewer.page.subject import Subject, subject_of
from viewer.pictures.sign_profiles import sign_page, sign_profiles, signs_present
from viewer.pictures.slope_map import APART, map_labels, node_slopes, slope_facts, slope_page, slope_steps
from viewer.sheets.plan import sheet_of

GRID = Grid(0.0, 0.0, 0.1, 201, 161)
BED = box(3.0, 3.0, 17.0, 13.0)


def tilted(slope: float) -> Subject:
    """A bed whose finished ground is a plane of one slope."""
    ground = ground_on(GRID, np.full(GRID.shape, 100.0))
    proposal = shape_berm(site_with(BED, [(10.0, 8.0, 0.5)], 1 / 3), ground)
    plane = 100.0 + slope * np.broadcast_to(GRID.x, GRID.shape)
    return Subject(site_with(BED, [(10.0, 8.0, 0.5)], 1 / 3), ground, replace(proposal, elevation=plane), None)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("slope", "words"),
    [
        (0.0, "flatter than 50:1"),
        (0.05, "50:1 to 10:1"),
        (0.125, "10:1 to 6:1"),
        (0.25, "5:1 to 4:1"),
        (0.5, "steeper than 3:1"),
    ],
)
def test_a_plane_is_one_step(slope: float, words: str) -> None:
    steps = slope_steps(tilted(slope))
    assert [step.words for step in steps] == [words]
    assert steps[0].area.area == pytest.approx(BED.area, rel=1e-6)


def test_the_steps_cover_the_bed_once() -> None:
    subject = Subject(*yard("ft"))
    steps = slope_steps(subject)
    assert len(steps) >= 3
    # Specks of a few cells are left out.
    assert sum(step.area.area for step in steps) == pytest.approx(subject.site.bed.outline.area, rel=2e-3)


@pytest.mark.parametrize("name", ["alder-bend", "larkspur-rise", "tansy-hollow"])
def test_figures_of_two_steps_are_not_read_as_one(name: str) -> None:
    subject = subject_of(study_of(name, 0.3))
    sheet = sheet_of(subject)
    figures = [item for item in map_labels(sheet, subject, slope_steps(subject)) if item.label.tag == "slope"]
    boxes = [label_box(item.label, item.seat) for item in figures]
    assert len(boxes) >= 2
    assert min(a.distance(b) for a, b in combinations(boxes, 2)) >= 2.0 * APART - 1e-6


def test_a_step_of_stones_and_a_dig_are_no_steep_slope() -> None:
    """The slope limit does not apply across them, so the map tells no ground there as steeper than the limit."""
    site = replace(
        site_with(BED, [(10.0, 8.5, 0.5)], 1 / 4),
        retained_edge=(RetainedEdge("stones", ((6.0, 6.0), (14.0, 6.0)), 0.4),),
        basin=(Basin("bowl", 0.4, center=(15.0, 11.0), size=(1.0, 1.0), side_slope=0.5),),
    )
    ground = ground_on(GRID, np.full(GRID.shape, 100.0))
    subject = Subject(site, ground, shape_berm(site, ground), None)  # type: ignore[arg-type]
    assert node_slopes(subject).max() > 0.5
    assert max(step.low for step in slope_steps(subject)) < 1 / 4


def test_both_ratios_are_named() -> None:
    facts = dict(slope_facts(Subject(*yard("ft"))))
    assert {
        "Side slope, limit (run:rise)",
        "Side slope, steepest (run:rise)",
        "Mound's width to height",
    } <= facts.keys()
    texts = " ".join(text.get_text() for text in slope_page(Subject(*yard("ft"))).axes.texts)
    assert "to 1" in texts
    assert "5:1 to 4:1" in texts


def volcano() -> Subject:
    ground = ground_on(GRID, 100.0 + 0.01 * np.broadcast_to(GRID.x, GRID.shape))
    site = site_with(Point(9.0, 8.0).buffer(5.0), [(9.0, 8.0, 3.0)], 1 / 3, toe=0.0)
    return Subject(site, ground, shape_berm(site, ground), None)  # type: ignore[arg-type]


def test_every_present_sign_has_a_profile_through_its_place() -> None:
    subject = volcano()
    look = natural_look(GRID, subject.ground.elevation, subject.proposal.elevation, subject.site.bed.outline)
    present = [sign for sign in look.signs if sign.present]
    assert len(present) >= 2
    profiles = sign_profiles(subject, look)
    assert [one.sign for one in profiles] == present
    for one in profiles:
        assert one.sign.at is not None
        place = one.profile.section.places(np.array([one.station]))[0]
        assert place == pytest.approx(one.sign.at, abs=1e-9)
        assert 0.0 <= one.station <= one.profile.section.length
    texts = " ".join(text.get_text() for text in sign_page(subject, look).axes.texts)
    for sign in present:
        assert sign.sign.replace("_", " ") in texts
    assert "reads as made" in texts


def test_every_word_about_the_signs_lies_on_the_paper(tmp_path: Path) -> None:
    subject = volcano()
    look = natural_look(GRID, subject.ground.elevation, subject.proposal.elevation, subject.site.bed.outline)
    assert faults_of(sign_page(subject, look).save(tmp_path / "signs.pdf"), border=5.0) == []


def test_without_a_sign_the_nearest_to_its_bound_is_shown() -> None:
    site, ground, proposal, work = yard("ft")
    look = natural_look(ground.grid, ground.elevation, proposal.elevation, site.bed.outline)
    quiet = replace(look, verdict="natural", signs=tuple(replace(sign, present=False) for sign in look.signs))
    (only,) = signs_present(quiet)
    assert only.value / only.bound == max(sign.value / sign.bound for sign in quiet.signs)
    texts = " ".join(text.get_text() for text in sign_page(Subject(site, ground, proposal, work), quiet).axes.texts)
    assert "reads natural" in texts


def test_a_bed_with_no_mound_has_no_sign_to_show() -> None:
    subject = tilted(0.0)
    look = natural_look(GRID, subject.ground.elevation, subject.ground.elevation, BED)
    assert signs_present(look) == ()
    assert sign_page(subject, look).height > 0.0
