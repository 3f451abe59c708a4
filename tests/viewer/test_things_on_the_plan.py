"""Every thing of the yard stands on the plan with its mark and its name."""

from __future__ import annotations

from dataclasses import replace

import pytest
from shipped import study_of

from terrain.site.things import KINDS, Thing
from viewer.page import Subject
from viewer.sheets.plan import plan_page, sheet_of
from viewer.sheets.thing_marks import thing_labels


@pytest.fixture(scope="module")
def study(request):
    return study_of("alder-bend", 0.3)


def subject(study, *things):
    return Subject(replace(study.site, thing=things), study.ground, study.proposal, study.work)


def test_every_kind_has_its_name_on_the_sheet(study):
    asked = subject(study, *(Thing(kind, f"the {kind}", ((8.0 + 0.2 * k, 4.0),)) for k, kind in enumerate(KINDS)))
    labels = thing_labels(sheet_of(asked), asked.site)
    assert [label.text for label in labels] == [f"the {kind}" for kind in KINDS]
    assert all(label.seats for label in labels)


def test_a_thing_is_drawn_and_named_with_the_height_that_counts(study):
    asked = subject(study, Thing("fence", "side fence", ((6.0, 1.0), (18.0, 1.0)), 1.2))
    plain = plan_page(subject(study), study.review.findings)
    page = plan_page(asked, study.review.findings)
    said = [text.get_text() for text in page.axes.texts]
    assert "side fence, 3 ft 11 in high" in said or "side fence, 3 ft 11 1/2 in high" in said
    drawn = [len(one.axes.collections) + len(one.axes.lines) + len(one.axes.patches) for one in (plain, page)]
    assert drawn[1] > drawn[0]
