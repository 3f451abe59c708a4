"""The checks of the review stand in two even columns, which share a page, and none is left out or cut."""

from __future__ import annotations

import pytest
from shipped import study_of

from viewer.page.sheet import FLOOR, MARGIN
from viewer.sheets.cautions_page import ALL, LEAST_COLUMN, caution_pages


@pytest.mark.parametrize("name", ["alder-bend", "tansy-hollow", "larkspur-rise"])
def test_every_check_stands_in_one_of_two_even_columns(name: str) -> None:
    study = study_of(name, 0.3)
    pages = caution_pages(study)
    verdicts = [check.word for check in study.review.checks]
    found, begun = list[str](), False
    for page in pages:
        texts = [(text.get_position(), text.get_text()) for text in page.axes.texts]
        head = [up for (_, up), said in texts if said == ALL]
        begun = begun or bool(head)
        if not begun:
            continue
        texts = [((across, up), said) for (across, up), said in texts if FLOOR < up < min(head, default=page.height)]
        words = [(across, said) for (across, _), said in texts if said in set(verdicts)]
        starts = sorted({round(across, 1) for across, _ in words})
        found += [said for _, said in words]
        assert starts[0] == pytest.approx(MARGIN)
        assert len(starts) == 2, "the paper is used across"
        right = [up for (across, up), _ in texts if across >= starts[1] - 0.1]
        left = [up for (across, up), _ in texts if across < starts[1] - 0.1]
        assert min(right) - min(left) < LEAST_COLUMN, "the columns end at about one height"
    assert sorted(found) == sorted(verdicts)
    assert sum(text.get_text() == ALL for page in pages for text in page.axes.texts) == 1
