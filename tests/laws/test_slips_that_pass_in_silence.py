"""Slips of a first quarter of an hour, each on forty odd yards: none passes in silence.

Rod readings for elevations: tests/review/test_which_way_is_up.py and tests/interview; a few shots, or shots that are
all alike: tests/ground/test_unmeasured.py. Here: soil left over, and stakes on the circle of a keep-off.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from odd_yards import odd_sites

from terrain.errors import InputError
from terrain.field.asbuilt.marks import ground_of, keep_off_words
from terrain.flow import sketch_site
from terrain.ground import coarser, model_ground
from terrain.site import Site, keep_off_radius
from terrain.soil import sure_words
from viewer.web.words import order_html

MUCH, LITTLE = 400.0, 0.3  # loose m3: more than any of these beds takes, and less than any does not
SAYS = "left over: the mound that is drawn takes no more"


def told_with(site: Site, on_hand: float) -> tuple[str, str]:
    """What the terminal and the page say of the order where so much soil lies on hand."""
    heap = replace(site, berm=replace(site.berm, soil=on_hand), stream=())
    sketch = sketch_site(heap, coarser(model_ground(heap), 0.4))
    page = order_html(heap, sketch.work, sketch.order, sketch.proposal)
    return " ".join(sure_words(sketch.order, site.units)), page


def heaps(seeds: range) -> Iterator[tuple[Site, tuple[str, str]]]:
    for _, site in odd_sites(seeds):
        try:
            yield site, told_with(site, MUCH)
        except InputError:
            continue  # a yard that no mound suits is refused in words


def all_said(seeds: range) -> int:
    done = 0
    for site, (words, page) in heaps(seeds):
        assert SAYS in words, site.name
        assert "Left over" in page, site.name
        done += 1
    return done


def test_soil_that_is_left_over_is_said_on_terminal_and_page() -> None:
    assert all_said(range(3)) >= 2


@pytest.mark.parametrize(
    ("seeds", "least"),
    [pytest.param(range(3, 23), 12, marks=pytest.mark.slow), pytest.param(range(23, 80), 40, marks=pytest.mark.fuzz)],
    ids=["12 yards", "40 yards"],
)
def test_soil_that_is_left_over_is_said_on_many_yards(seeds: range, least: int) -> None:
    assert all_said(seeds) >= least


def test_a_heap_that_is_used_up_is_not_said_to_be_left() -> None:
    _, site = next(odd_sites([7]))
    words, page = told_with(site, LITTLE)
    assert SAYS not in words
    assert "Left over" not in page


def test_a_stake_on_the_circle_is_judged_alike_however_it_is_rounded() -> None:
    """A circle is staked every 15 degrees and each place written to a centimetre or a hundredth of a foot."""
    done = 0
    for _, site in odd_sites(range(90)):
        yard: Any = SimpleNamespace(site=site, proposal=SimpleNamespace(worked=site.bed.outline))
        for tree in site.tree[:1]:
            radius, angles = keep_off_radius(tree, site.trees.rule), np.radians(np.arange(0.0, 360.0, 15.0))
            others = [other for other in site.tree if other is not tree]
            circle = np.array(tree.at) + radius * np.column_stack([np.cos(angles), np.sin(angles)])
            for step in (0.01, 0.01 * 0.3048):
                marks = {ground_of(yard, at, 0.0) for at in np.round(circle / step) * step if _clear(at, site, others)}
                assert keep_off_words(tree.name) not in marks
            inner = tree.at + 0.9 * (circle - tree.at)
            assert {ground_of(yard, at, 0.0) for at in inner if _clear(at, site, others)} <= {keep_off_words(tree.name)}
            done += 1
    assert done >= 40


def _clear(at: np.ndarray, site: Site, others: list[Any]) -> bool:
    """Whether a place lies off what other trees keep free."""
    return all(np.hypot(*(at - other.at)) > keep_off_radius(other, site.trees.rule) + 0.05 for other in others)
