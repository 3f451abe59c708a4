"""The form in use beside the plain least-bent surface: the developers' page shows both."""

from __future__ import annotations

from pathlib import Path

import pytest
from form_compared import as_markdown, look_at, no_ridge

from terrain.shape.form import ridge_line

ROUND = 15  # seed of a round bed


def told(page: str) -> str:
    """What stands between the marks in the developers' page."""
    _, _, rest = page.partition("<!-- both forms: from here -->\n")
    written, end, _ = rest.partition("\n<!-- both forms: to here -->")
    assert end
    return written


def test_three_tops_close_together_on_a_round_bed_are_a_heap_by_either_form() -> None:
    for ridge in (no_ridge, ridge_line):
        assert look_at(ROUND, ridge)["cone"].past_all_doubt


@pytest.mark.slow
def test_the_table_of_both_forms_is_the_one_worked_out_here(root: Path) -> None:
    assert told((root / "DEVELOPERS.md").read_text(encoding="utf-8")) == as_markdown()
