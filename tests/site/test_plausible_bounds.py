"""Figures that decide money and safety: either side of each bound, and the words beyond it."""

from __future__ import annotations

from pathlib import Path

import pytest
from invented_yard import SITE, refusal, spoiled, yard

# The line as it stands, a figure inside, a figure outside, and what the refusal says.
# The bounds: terrain/limits.py, common practice, no published source.
FIGURES = {
    "accuracy": ('accuracy = "0.02 ft"', "accuracy", '"0.4 m"', "300", "shots that are off by 300 ft"),
    "slope": ('max_slope = "4:1"', "max_slope", '"99:1"', '"100000:1"', "all but level"),
    "truck": ("[soil]", "truck", '"40 cu yd"', '"10000 cu yd"', "which no truck holds"),
    "a truck of a thimble": ("[soil]", "truck", '"0.5 cu yd"', '"1 L"', "which no truck holds"),
    "barrow": ("[soil]", "barrow", '"6 cu ft"', '"6 cu yd"', "which no barrow holds"),
    "bag": ("[soil]", "bag", '"20 L"', '"20 m3"', "which no bag holds"),
    "step": ("[soil]", "sold_in", '"1 cu yd"', '"100 m3"', "is a step of more than"),
    "price": ("[soil]", "price", "70000000", "80000000", "is no price per loose cubic yard"),
    "price of a load": ("[soil]", "delivery_price", "90", "1e300", "is no price per load, bag or hour"),
}


def written(case: str, figure: str) -> str:
    """The site with the figure at its key, which may stand there with another."""
    line, key, *_ = FIGURES[case]
    if line != "[soil]":
        return spoiled(line, f"{key} = {figure}")
    others = "\n".join(row for row in SITE.splitlines() if row.split("=")[0].strip() != key)
    return others.replace(line, f"[soil]\n{key} = {figure}") + "\n"


@pytest.mark.parametrize("case", FIGURES)
def test_a_figure_is_taken_up_to_its_bound_and_refused_beyond(tmp_path: Path, case: str) -> None:
    _, key, inside, outside, words = FIGURES[case]
    yard(tmp_path, written(case, inside))
    message = refusal(tmp_path, written(case, outside))
    assert words in message
    assert key in message
    assert "Accepted: " in message


def test_two_crest_points_in_one_place_are_refused(tmp_path: Path) -> None:
    near = spoiled('[37, 21, "14 in"]', '[26.02, 24, "14 in"]')
    message = refusal(tmp_path, near)
    assert "[berm] crest point 3: it stands where point 2 stands, x 26.02, y 24.00." in message
    yard(tmp_path, spoiled('[37, 21, "14 in"]', '[26.1, 24, "29 in"]'))
