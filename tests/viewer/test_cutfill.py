"""The cut and fill map: bands that part the mound by depth, without gap or overlap."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations
from pathlib import Path

import numpy as np
import pytest
import shapely
from scenario import yard
from shapely.geometry import Point

from terrain.site.features import Terrace
from viewer.page.contours import LEAST_FILL, footprint
from viewer.page.page import Page
from viewer.page.palette import CUT_STEPS, FILL_STEPS, PAPER, grey_level, ink_on
from viewer.page.subject import Subject, top_of_mound
from viewer.sheets.cutfill import bands, cutfill_page, draw_cutfill, map_labels, step_number, totals
from viewer.sheets.plan import sheet_of

SITE, GROUND, PROPOSAL, WORK = yard("ft")


def test_bands_part_the_mound_without_gap_or_overlap() -> None:
    found = bands(PROPOSAL, GROUND, "ft")
    assert 3 <= len(found) <= 5
    whole = footprint(PROPOSAL)
    # Lines between bands are traced twice; they may differ by a rounding.
    assert sum(band.area.area for band in found) == pytest.approx(whole.area, rel=1e-6)
    assert all(one.area.intersection(two.area).area < 1e-6 for one, two in combinations(found, 2))


def test_every_node_lies_in_the_band_of_its_depth() -> None:
    nodes, depth = PROPOSAL.grid.nodes, PROPOSAL.fill.ravel()
    for band in bands(PROPOSAL, GROUND, "ft"):
        low = max(band.low, LEAST_FILL)
        sure = (depth > low + 1e-3) & (depth < band.high - 1e-3)
        inside = shapely.contains_xy(band.area, nodes[:, 0], nodes[:, 1])
        assert inside[sure].all()


def test_cut_takes_the_blue_green_half_and_fill_the_brown() -> None:
    dug = replace(PROPOSAL, elevation=PROPOSAL.elevation - np.where(PROPOSAL.fill > 0, 0.0, 0.3))
    found = bands(dug, GROUND, "ft")
    assert {band.colour for band in found if band.cut} <= set(CUT_STEPS)
    assert {band.colour for band in found if not band.cut} <= set(FILL_STEPS)
    assert max(band.high for band in found if band.cut) == pytest.approx(0.3048, rel=1e-9)


def test_the_hatch_of_cut_shows_on_every_tint_of_a_grey_print() -> None:
    """Deep cut and deep fill are alike there but for the hatch."""
    for colour in CUT_STEPS:
        assert abs(grey_level(ink_on(colour)) - grey_level(colour)) > 0.3, colour


def test_names_of_features_on_the_tints_stand_on_paper(monkeypatch: pytest.MonkeyPatch) -> None:
    laid: list[shapely.Geometry] = []
    monkeypatch.setattr(Page, "area", lambda page, shape, colour, opacity=1.0: laid.append((shape, colour)))
    seat = Terrace("seat", Point(top_of_mound(PROPOSAL)[:2]).buffer(0.8), 0.3)
    subject = Subject(replace(SITE, terrace=(seat,)), GROUND, PROPOSAL, WORK)
    cutfill_page(subject)
    sheet = sheet_of(subject)
    (name,) = [
        item for item in map_labels(sheet, subject, bands(PROPOSAL, GROUND, "ft")) if item.label.text.startswith("seat")
    ]
    assert any(colour == PAPER and shape.covers(name.box) for shape, colour in laid)


def test_maps_side_by_side_share_steps_and_colours() -> None:
    """A mound half as high takes the lighter colours of the taller one's scale, and none of the darker."""
    tall = bands(PROPOSAL, GROUND, "ft")
    fill = 0.5 * PROPOSAL.fill
    half = replace(PROPOSAL, fill=fill, elevation=GROUND.elevation + fill)
    shared = bands(half, GROUND, "ft", float(PROPOSAL.fill.max()))
    assert 0 < len(shared) < len(tall)
    for one, two in zip(shared, tall, strict=False):
        assert (one.low, one.high, one.colour) == (two.low, two.high, two.colour)


def test_depths_are_bare_numbers_in_the_units_of_the_crew() -> None:
    assert step_number(0.1524, "ft") == "6"
    assert step_number(0.0127, "ft") == "0.5"
    assert step_number(0.15, "m") == "15"


def test_totals_name_every_measure() -> None:
    rows = dict(totals(Subject(SITE, GROUND, PROPOSAL, WORK)))
    assert rows["Fill"].endswith("placed")
    assert rows["Soil to order"]
    assert rows["expected"].endswith("loose")
    assert rows["Sod stripped"].endswith("bank")
    assert "Cut" not in rows
    dug = dict(totals(Subject(SITE, GROUND, PROPOSAL, replace(WORK, cut_bank=1.0))))
    assert dug["Cut"] == "1.3 cu yd bank"


def test_a_yard_without_a_mound_still_gets_its_map(tmp_path: Path) -> None:
    flat = replace(PROPOSAL, fill=np.zeros(GROUND.grid.shape), elevation=GROUND.elevation)
    assert bands(flat, GROUND, "ft") == []
    page = cutfill_page(Subject(SITE, GROUND, flat, WORK))
    assert len(page.axes.texts) > 10


def test_the_map_is_written(tmp_path: Path) -> None:
    (path,) = draw_cutfill(Subject(SITE, GROUND, PROPOSAL, WORK), tmp_path)
    assert path == tmp_path / "cutfill.png"
    assert path.stat().st_size > 40_000
