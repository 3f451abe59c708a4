"""Ground that nobody measured, or hardly: a wide range with its source, and nothing said of water."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from hidden_yards import FOOT, hidden_yard, standardised
from real_ground import Array, Random, terrain_crop, yard_returns

from terrain import build_site, model_ground, read_site, run_site
from terrain.errors import InputError
from terrain.field import check_as_built, order_after_survey, set_out, survey_words, where_next
from terrain.ground import TWENTY, deviation_after_shots
from terrain.ground.unmeasured import first_shots
from terrain.limits import UNSEEN_MEAN, UNSEEN_PLACE
from terrain.review.ground import upside_down_findings
from terrain.site import Site

LEVEL = 0.05  # rise/run of a bed's edge up to which an eye takes the bed for flat or evenly sloped
FIELDS = {
    "name": "not measured",
    "units": "ft",
    "survey": {"surface": "flat"},
    "bed": {"outline": [[0, 0], [26, 0], [24, 14], [3, 12]], "sod": "2 in"},
    "berm": {"max_slope": "4:1", "crest": [[9, 7, "14 in"]]},
    "soil": {"kind": "loam"},
    "grid": {"cell": "0.5 ft"},
}


def flat(**changed: object) -> Site:
    return build_site({**FIELDS, **changed})


def departures(ground: Array, random: Random) -> tuple[float, float] | None:
    """A bed's mean and root mean square departure from the plane through its edge, over the root of its area."""
    low, high = ground[:, :2].min(axis=0), ground[:, :2].max(axis=0)
    long, short = random.uniform(0.12, 0.30, 2) * (high - low).min()
    turn, reach = random.uniform(0.0, np.pi), max(long, short)
    middle = low + reach + random.uniform(0.0, 1.0, 2) * (high - low - 2.0 * reach)
    off = ground[:, :2] - middle
    along, across = off @ [np.cos(turn), np.sin(turn)], off @ [-np.sin(turn), np.cos(turn)]
    away = np.hypot(along / long, across / short)
    inside, edge = away < 1.0, np.abs(away - 1.0) < 0.1
    if np.count_nonzero(edge) < 12 or np.count_nonzero(inside) < 30:
        return None
    terms = np.column_stack([off, np.ones(len(off))])
    plane = np.linalg.lstsq(terms[edge], ground[edge, 2], rcond=None)[0]
    if np.hypot(*plane[:2]) > LEVEL:
        return None
    rest = ground[inside, 2] - terms[inside] @ plane
    size = np.sqrt(np.pi * long * short)
    return float(rest.mean() / size), float(np.sqrt(np.mean(rest**2)) / size)


@pytest.mark.slow
def test_the_figures_of_unseen_ground_are_those_of_the_open_terrain() -> None:
    """Root mean square over some 250 beds; each to a fifth of itself, about three times what chance leaves."""
    random = np.random.default_rng(5)
    found = [departures(terrain_crop(random), random) for _ in range(100) for _ in range(5)]
    mean, place = np.sqrt(np.mean(np.square([one for one in found if one is not None]), axis=0))
    assert UNSEEN_MEAN.value == pytest.approx(mean, rel=0.2)
    assert UNSEEN_PLACE.value == pytest.approx(place, rel=0.2)


def test_a_real_yard_keeps_well_within_them() -> None:
    """The yard of the lidar flight is a level lawn: a quarter of the open terrain's figure."""
    random, yard = np.random.default_rng(6), yard_returns()
    found = [one for one in (departures(yard, random) for _ in range(60)) if one is not None]
    share = [abs(mean) <= 1.645 * UNSEEN_MEAN.value for mean, _ in found]
    assert len(found) > 30
    assert np.mean(share) >= 0.9


def test_flat_ground_is_level_and_as_unsure_as_stated() -> None:
    site = flat()
    ground, size = model_ground(site), float(np.sqrt(site.bed.outline.area))
    assert np.ptp(ground.elevation) == 0.0
    assert ground.mean_deviation == pytest.approx(0.010 * size, rel=1e-12)
    assert ground.deviation.max() == pytest.approx(0.024 * size, rel=1e-12)
    assert ground.check.shots == 0


def test_twenty_shots_narrow_it_and_stand_apart() -> None:
    site = flat()
    spots = first_shots(site)
    apart = np.hypot(*(spots[:, None] - spots[None]).transpose(2, 0, 1)) + 99.0 * np.eye(TWENTY)
    assert spots.shape == (TWENTY, 2)
    assert apart.min() > 0.5 * np.sqrt(site.bed.outline.area / TWENTY)
    assert deviation_after_shots(site) < 0.25 * model_ground(site).mean_deviation


def test_the_order_says_what_a_survey_would_make_of_it() -> None:
    study = run_site(flat())
    after = order_after_survey(study)
    assert after is not None
    assert study.order.low < after[0] < study.order.expected < after[1] < study.order.high
    assert "20 shots would narrow the order to" in survey_words(study)


def test_nothing_is_said_of_water_or_stakes_on_ground_that_nobody_measured() -> None:
    site = flat(building=[{"name": "house", "outline": [[0, 20], [26, 20], [26, 40], [0, 40]]}])
    study = run_site(site)
    told = {one.check.name: one for one in study.review.checks if one.check.topic in ("drainage", "ground")}
    upright = told.pop("which way is up")
    assert "Nothing was measured" in upright.findings[0].text
    assert study.review.first == upright.findings
    assert {one.word for one in told.values()} == {"not checked"}
    assert {one.lack for one in told.values()} == {"a survey of the ground"}
    wanted = where_next(study)
    assert [one.name for one in wanted] == [f"N{number}" for number in range(1, 21)]
    assert all(later.mean_deviation <= one.mean_deviation for one, later in pairwise(wanted))
    assert wanted[-1].order == pytest.approx(order_after_survey(study), rel=1e-9)
    with pytest.raises(InputError, match="nothing was measured, and stakes are set by elevations"):
        set_out(study)
    with pytest.raises(InputError, match="nothing was measured, and shots are held"):
        check_as_built(study, _built(study.site))


def _built(site: Site) -> object:
    from terrain.field.asbuilt.model import BuiltShots

    return BuiltShots(site.survey.shots, site.survey.names, site.survey.codes, "built.csv")


@pytest.mark.parametrize(
    ("survey", "said"),
    [
        (
            {"surface": "flat", "shots": [[0, 0, 1], [9, 0, 1], [0, 9, 1]]},
            "is for ground that nobody measured, and shots",
        ),
        ({"surface": "Flat", "level_book": "levels.csv"}, "and level_book is given"),
        ({"surface": "flat", "acuracy": 1}, '"acuracy" is not a known key'),
    ],
)
def test_what_cannot_stand_beside_it_is_refused(survey: dict[str, object], said: str) -> None:
    with pytest.raises(InputError, match=said):
        flat(survey=survey)
    with pytest.raises(InputError, match="there are none"):
        flat(bed={"outline": "codes"})


@pytest.mark.parametrize("count", [3, 4, 5, 6])
def test_a_few_shots_have_a_range_that_holds_the_hidden_ground(count: int) -> None:
    """40 yards of real relief at random: 90 % should be held, 31 or more of 40 by chance alone (binomial, 1 in 100)."""
    with np.errstate(all="raise"):
        rows = [standardised(hidden_yard("random", seed, count=count)) for seed in range(40)]
    assert sum(abs(row.bed) <= 1.645 for row in rows) >= 31


def test_invented_shots_that_are_all_alike_do_not_pass_for_measured() -> None:
    """40 beds under 3 to 12 shots that all read the same: told first, with the range of ground that nobody measured."""
    for seed in range(40):
        count = (3, 4, 5, 6, 8, 12)[seed % 6]
        shots = hidden_yard("random", seed, count=count).shots * [1.0, 1.0, 0.0] + [0.0, 0.0, 30.0]
        middle = shots[:, :2].mean(axis=0)
        corners = (middle + np.array([(-2, -2), (2, -2), (2, 2), (-2, 2)])) / FOOT
        crest = [[*(middle / FOOT), "8 in"]]
        site = flat(
            survey={"shots": shots}, bed={"outline": corners.tolist()}, berm={"max_slope": "4:1", "crest": crest}
        )
        site = replace(site, survey=replace(site.survey, file="shots.csv"))
        ground = model_ground(site)
        assert ground.mean_deviation >= UNSEEN_MEAN.value * np.sqrt(site.bed.outline.area) - 1e-12
        (told,) = upside_down_findings(site, ground)
        assert f"All {len(shots)} shots read 98.43 ft: no rod reads so." in told.text


def test_shots_that_differ_by_what_a_rod_shows_are_measured() -> None:
    yard = hidden_yard("grid", 4, count=20)
    site = flat(survey={"shots": yard.shots * [1.0, 1.0, 0.01] + [0.0, 0.0, 30.0]})
    named = replace(site, survey=replace(site.survey, file="shots.csv"))
    assert model_ground(named).mean_deviation < 0.5 * UNSEEN_MEAN.value * np.sqrt(site.bed.outline.area)
    assert not list(upside_down_findings(named, model_ground(named)))


def test_a_few_shots_say_so() -> None:
    study = run_site(flat(survey={"shots": [[-2, -2, 100], [30, -2, 100], [30, 18, 99.5], [-2, 18, 99.8]]}))
    assert survey_words(study).startswith("From 4 shots the range is assumed, not measured; 20 shots would narrow")
    many = read_site("examples/alder-bend/site.toml")
    assert survey_words(run_site(many, resolution=0.3)) == ""
