"""Drops that are left out are proposed by the rule of step-pools; stated ones that leave the bed steep are told."""

from __future__ import annotations

import tomllib
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from random_streams import random_stream

from terrain.ground import Ground, model_ground
from terrain.review.stream_drops import drop_findings, steepest_tread
from terrain.shape.berm import shape_berm
from terrain.shape.long_section import LongSection
from terrain.site.model import Site
from terrain.site.read import build_site

INCH = 0.0254


def section_of(site: Site, ground: Ground) -> LongSection:
    return shape_berm(site, ground).streams[0].section


@pytest.fixture(scope="module")
def fields() -> dict[str, Any]:
    found = random_stream(5)  # of its kind the one whose ground falls most
    found["stream"][0].pop("drops", None)
    found["stream"][0].pop("pools", None)
    return found


@pytest.fixture(scope="module")
def yard(fields: dict[str, Any]) -> tuple[Site, Ground]:
    site = build_site(fields)
    return site, model_ground(site)


def test_proposed_drops_take_the_fall_in_equal_treads_and_none_is_too_high(yard: tuple[Site, Ground]) -> None:
    site, ground = yard
    section = section_of(site, ground)
    heights = np.array([drop.height for drop in section.drops])
    assert len(heights) >= 2
    assert heights.max() <= site.stream[0].highest_drop + 1e-9
    assert heights.min() >= 2 * INCH - 1e-9
    assert steepest_tread(section)[0] <= 0.04 + 1e-6
    # Treads are equal but for those whose drop would have been too low to be one: whole numbers of the shortest.
    treads = np.diff([drop.station for drop in section.drops])
    assert treads / treads.min() == pytest.approx(np.round(treads / treads.min()), abs=1e-6)
    # Abrahams, Li and Atkinson, Water Resources Research 31 (1995): natural step-pools lie between 1 and 2; treads that
    # fall by 2 to 4 % of their own take that much off.
    assert 0.5 <= section.steepness <= 2.0


def test_the_line_to_copy_gives_the_same_bed(yard: tuple[Site, Ground], fields: dict[str, Any]) -> None:
    site, ground = yard
    section = section_of(site, ground)
    (found,) = drop_findings(site, [section])
    assert found.level == "note"
    copied = tomllib.loads(found.text.partition("these: ")[2].partition(". Copy")[0])["drops"]
    stream = {**fields["stream"][0], "drops": copied}
    again = section_of(build_site({**fields, "stream": [stream]}), ground)
    at = np.linspace(0.0, section.length, 60)
    apart = np.interp(at, again.stations, again.bed) - np.interp(at, section.stations, section.bed)
    clear = np.min([np.abs(at - drop.station) for drop in section.drops], axis=0) > 0.1
    assert np.abs(apart[clear]).max() < 0.04  # the file's own treads may fall by less, or by more


def test_stated_drops_that_leave_the_bed_steep_are_told_with_what_would_do(yard: tuple[Site, Ground]) -> None:
    site, ground = yard
    few = replace(site, stream=(replace(site.stream[0], drops=()),))
    (found,) = drop_findings(few, [section_of(few, ground)])
    assert found.level == "note"
    assert found.value is not None
    assert found.value > 0.04
    assert "These would take the whole fall: drops = [[" in found.text
