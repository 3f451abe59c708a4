"""A first crest stands inside its bed, whatever the bed's shape, and one that fills a bed reaches into every arm."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import shapely
from odd_yards import odd_sites
from shapely.geometry import Point, Polygon

from terrain import run_site
from terrain.ground import points_over
from terrain.soil import WhatIf
from terrain.suggest import first_crest
from terrain.suggest.first_crests import filling_crest, site_of_outline

U = Polygon([(0, 0), (12, 0), (12, 9), (9.6, 9), (9.6, 2.4), (2.4, 2.4), (2.4, 9), (0, 9)])


def test_first_crests_of_forty_odd_beds_stand_inside() -> None:
    done = 0
    for _, site in odd_sites(range(50)):
        for slope in (1 / 2, 1 / 8):
            for crest in (first_crest(site.bed.outline, slope), filling_crest(site.bed.outline, slope)):
                assert crest
                assert all(site.bed.outline.contains(Point(x, y)) for x, y, _ in crest)
                assert all(0.0 < height <= 1.2 for *_, height in crest)
        done += 1
    assert done >= 40


def test_a_wished_height_is_that_of_the_top() -> None:
    assert max(height for *_, height in first_crest(U, 0.25, 0.4)) == pytest.approx(0.4, abs=1e-12)


def test_no_two_high_points_stand_in_one_place_and_every_arm_has_one() -> None:
    places = np.array([(x, y) for x, y, _ in filling_crest(U, 0.25)])
    apart = np.hypot(*(places[:, None] - places[None]).transpose(2, 0, 1)) + 99.0 * np.eye(len(places))
    assert apart.min() > 0.5
    for arm in (Polygon([(0, 5), (2.4, 5), (2.4, 9), (0, 9)]), Polygon([(9.6, 5), (12, 5), (12, 9), (9.6, 9)])):
        assert any(arm.contains(Point(at)) for at in places)


def test_a_bed_with_arms_is_filled_to_more_than_half_of_what_its_slopes_enclose(tmp_path: Path) -> None:
    """The sharp surface of the limit encloses slope times the mean distance to the edge; the toe takes its part."""
    rows = "\n".join(f"{x},{y}" for x, y in shapely.get_coordinates(U)[:-1])
    (tmp_path / "bed.csv").write_text(f"x,y\n{rows}\n", encoding="utf-8")
    site = site_of_outline(tmp_path / "bed.csv", "m")
    study = run_site(site, WhatIf(depth=2.0), resolution=0.1)
    deep = study.work.fill_placed / U.area - site.bed.sod
    sharp = 0.25 * float(np.mean(shapely.distance(U.boundary, shapely.points(points_over(U, 3000)))))
    assert 0.5 * sharp < deep < sharp


def test_a_field_of_an_outline_has_a_mound_that_people_build(tmp_path: Path) -> None:
    (tmp_path / "bed.csv").write_text("x,y\n0,0\n900,0\n900,600\n0,600\n", encoding="utf-8")
    assert max(point.height for point in site_of_outline(tmp_path / "bed.csv", "ft").berm.crest) <= 1.2
