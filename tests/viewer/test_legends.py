"""Every map names all lines and hatches that stand on it, in one place and in the same words."""

from __future__ import annotations

import pytest
from every_drawing import drawn
from shipped import study_of

from viewer.page.named_lines import ROOT_ZONE

MAPS = ("plan", "cut and fill", "slope", "water", "set-out", "as-built")


@pytest.mark.parametrize("name", MAPS)
def test_trees_and_structures_have_their_entries(name: str) -> None:
    study = study_of("alder-bend", 0.3)
    assert study.site.tree
    assert study.site.building
    assert study.site.keep_clear
    said = [text.get_text() for text in drawn(name, study)[0].axes.texts]
    assert said.count("building") == said.count("kept clear") == said.count(ROOT_ZONE) == 1
    assert len([text for text in said if text.startswith("keep-off: ")]) == 1
