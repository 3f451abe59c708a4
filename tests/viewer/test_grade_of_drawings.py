"""Drawings of a grade show that grade and name it: as built on day one, or once settled."""

from __future__ import annotations

import numpy as np
import pytest
from shipped import study_of

from terrain.flow import Study
from viewer.page.page import Page
from viewer.page.subject import subject_of
from viewer.pictures.named import drawings


@pytest.fixture(scope="module")
def study() -> Study:
    return study_of("alder-bend", 0.25)


def words(page: Page) -> str:
    return " ".join(text.get_text() for text in page.axes.texts)


def test_on_day_one_a_drawing_stands_as_much_higher_as_the_soil_settles(study: Study) -> None:
    built, settled = subject_of(study, grade="day one").proposal, subject_of(study).proposal
    assert settled is study.proposal
    # The soil settles by 8 % of its height: it is built to 1.08 of it.
    assert np.allclose(built.fill, 1.08 * settled.fill, rtol=1e-6, atol=1e-9)
    assert np.allclose(built.elevation - settled.elevation, 0.08 * settled.fill, atol=1e-6)
    assert [one.built for one in built.crest] == pytest.approx([1.08 * one.built for one in settled.crest], rel=1e-6)
    # A face is the ground's slope and the fill's: only the fill's grows, by 8 %.
    most = 1.08 * settled.steepest + 0.08 * settled.existing_steepest
    assert settled.steepest < built.steepest <= most + 1e-9
    assert np.allclose(built.mesh.fill, np.where(settled.mesh.fill > 0.0, 1.08, 1.0) * settled.mesh.fill, atol=1e-6)


@pytest.mark.slow
@pytest.mark.parametrize(("grade", "other"), [("day one", "finished"), ("finished", "day one")])
def test_every_drawing_names_its_grade_and_no_other(study: Study, grade: str, other: str) -> None:
    subject = subject_of(study, grade=grade)  # type: ignore[arg-type]
    for drawing in drawings(subject, study.review.findings):
        told = words(drawing.page)
        assert f"{grade} grade" in told, drawing.stem
        assert f"{other} grade" not in told, drawing.stem
