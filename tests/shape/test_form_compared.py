"""The form in use reads natural at least as often as the plain least-bent surface; the developers' page shows both."""

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


def test_a_bed_where_the_ridge_makes_the_difference() -> None:
    """Three tops on a round bed run together into one round heap unless the ridge between them is held."""
    assert look_at(ROUND, no_ridge)["cone"].present
    assert look_at(ROUND, ridge_line).reads_natural


@pytest.mark.slow
def test_the_table_of_both_forms_is_the_one_worked_out_here(root: Path) -> None:
    assert told((root / "DEVELOPERS.md").read_text(encoding="utf-8")) == as_markdown()
