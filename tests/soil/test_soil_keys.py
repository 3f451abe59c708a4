"""What a site file says about its soil reaches the order in one convention."""

from __future__ import annotations

from pathlib import Path

import pytest

from terrain.errors import InputError
from terrain.site.model import Soil
from terrain.site.read import read_site

YARD = """
name = "Invented"
units = "ft"
[survey]
shots = [[0, 0, 100], [40, 0, 100.2], [40, 30, 100.6], [0, 30, 100.1], [20, 15, 100.3]]
[bed]
outline = [[10, 8], [30, 8], [30, 22], [10, 22]]
[berm]
max_slope = "4:1"
crest = [[20, 15, "12 in"]]
[soil]
"""


def soil_of(tmp_path: Path, lines: str) -> Soil:
    (tmp_path / "site.toml").write_text(YARD + lines, encoding="utf-8")
    return read_site(tmp_path / "site.toml").soil


def test_a_quarter_of_shrink_is_two_different_soils(tmp_path: Path) -> None:
    # Nunnally: 25 % of the bank volume leaves 0.75. Federal Lands Highway manual, section 9.4.C: 1/1.25 = 0.80.
    of_bank = soil_of(tmp_path, 'shrink = "25 %"')
    of_placed = soil_of(tmp_path, 'shrink = "25 %"\nshrink_of = "placed"')
    assert 1.0 - of_bank.shrink == pytest.approx(0.75, abs=1e-12)
    assert 1.0 - of_placed.shrink == pytest.approx(0.80, abs=1e-12)
    assert of_placed.shrink_of == "bank"


def test_a_shrink_of_the_table_is_never_taken_for_the_other_convention(tmp_path: Path) -> None:
    soil = soil_of(tmp_path, 'kind = "clay"\nshrink_of = "placed"')
    assert (soil.swell, soil.shrink) == pytest.approx((0.45, 0.15), abs=1e-12)


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ('shrink_of = "loose"', r'\[soil\] shrink_of: "loose" is not what a shrink is a share of.*"placed"'),
        ('ground = "loem"', r'\[soil\] ground: "loem" is not a soil of the table .*Did you mean "loam"'),
        ("ground = 3", r"\[soil\] ground: 3 is not a text"),
    ],
)
def test_what_the_soil_keys_do_not_know_is_refused(line: str, words: str, tmp_path: Path) -> None:
    with pytest.raises(InputError, match=words):
        soil_of(tmp_path, line)
