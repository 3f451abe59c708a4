"""Plants on a mound: plain, where plants stand, larger in the fifth season, and marked as nobody's design."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from scenario import yard
from shapely.geometry import Point

from viewer.page.subject import Subject
from viewer.pictures.overview import Overview
from viewer.pictures.planting import plant_places, planting_words, plants
from viewer.pictures.view import caption


@pytest.fixture(scope="module")
def subject() -> Subject:
    return Subject(*yard("ft"))


def test_plants_stand_in_the_bed_apart_and_clear_of_trunks(subject: Subject) -> None:
    spots = plant_places(subject)
    assert 20 < len(spots) <= 500
    assert shapely.contains_xy(subject.site.bed.outline.buffer(-0.29), *spots.T).all()
    away = np.hypot(*(spots[:, None] - spots[None]).transpose(2, 0, 1)) + 9.0 * np.eye(len(spots))
    assert away.min() > 0.25
    for tree in subject.site.tree:
        assert min(Point(tree.at).distance(Point(spot)) for spot in spots) > tree.flare + 0.35


def test_five_seasons_make_them_larger_and_keep_them_where_they_stand(subject: Subject) -> None:
    first, fifth = plants(subject, "first"), plants(subject, "fifth")
    assert first is not None
    assert fifth is not None
    ground = subject.proposal.grid.sample(subject.proposal.elevation, plant_places(subject))
    for body, low, high in ((first, 0.14, 0.34), (fifth, 0.5, 0.95)):
        over = float(body.points[:, 2].max() - ground.max())
        assert low - 0.14 < over < high
    assert np.ptp(fifth.points[:, :2], axis=0) == pytest.approx(np.ptp(first.points[:, :2], axis=0), abs=0.9)


@pytest.mark.slow
def test_the_picture_is_greener_with_every_season_and_says_that_nobody_designed_it(subject: Subject) -> None:
    bare, first, fifth = (Overview(subject, season=season) for season in (None, "first", "fifth"))
    still = [one.still(True, 400).pixels.astype(float) for one in (bare, first, fifth)]
    brown = [float(np.mean(one[..., 0] > one[..., 1] + 12.0)) for one in still]
    assert brown[0] > brown[1] > 2.0 * brown[2] > 0.0
    paper = [float(np.mean(one.min(axis=2) > 240.0)) for one in still]
    assert max(paper) - min(paper) < 0.02, "no sky shows between the leaves"
    assert planting_words("fifth") in caption(fifth)
    assert "not designed here" in caption(first)
    assert "not designed here" not in caption(bare)
