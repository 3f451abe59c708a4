"""Several streams: each has its own flow, those of one basin run together, and that basin is lined and filled once."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from stream_yard import write_yard

from terrain.flow import Study, run_site
from terrain.review.running_water import basin_of_stream_findings
from terrain.site.model import Site
from terrain.site.read import build_site, read_site
from terrain.waterworks.lip import lip_head
from terrain.waterworks.needs import StreamNeeds
from terrain.waterworks.words import water_rows

GPM = 231.0 * 0.0254**3 / 60.0


@pytest.fixture(scope="module")
def yards(tmp_path_factory: pytest.TempPathFactory) -> tuple[Site, Site]:
    """A yard with one stream, and with another of half its water beside it that ends in the same basin."""
    one = read_site(write_yard(tmp_path_factory.mktemp("yard")))
    run = one.stream[0]
    brook = replace(
        run,
        name="brook",
        line=(*tuple((x, y - 1.5) for x, y in run.line[:-1]), (run.line[-1][0], run.line[-1][1] - 0.4)),
        drops=(),
        pools=(),
        flow=20.0 * GPM,
    )
    return one, replace(one, stream=(run, brook))


@pytest.fixture(scope="module")
def studies(yards: tuple[Site, Site]) -> tuple[Study, Study]:
    alone, both = (run_site(site) for site in yards)
    return alone, both


@pytest.fixture(scope="module")
def needs(studies: tuple[Study, Study]) -> tuple[StreamNeeds, StreamNeeds, StreamNeeds]:
    (alone,), (run, brook) = (study.streams for study in studies)
    return alone, run, brook


def test_each_runs_with_its_own_water(needs) -> None:
    alone, run, brook = needs
    assert (alone.flow, run.flow, brook.flow) == pytest.approx((40.0 * GPM, 40.0 * GPM, 20.0 * GPM), rel=1e-9)
    assert brook.head.value == pytest.approx(lip_head(20.0 * GPM, run.lip), rel=1e-9)
    assert run.transit.total == alone.transit.total


def test_the_basin_gives_what_all_take_together(needs) -> None:
    alone, run, brook = needs
    both = run.transit.total.value + brook.transit.total.value
    assert (run.together.value, brook.together.value) == pytest.approx((both, both), rel=1e-12)
    assert run.level_drop.value == pytest.approx(both / (run.store.area * run.store.voids), rel=1e-12)
    assert run.level_drop == brook.level_drop
    assert run.days == brook.days
    assert run.days.value < alone.days.value
    assert run.asked_of_basin > alone.asked_of_basin
    assert run.wet_area == pytest.approx(alone.wet_area + brook.own_wet, rel=1e-9)


def test_its_sheet_and_fill_are_bought_once(studies, needs) -> None:
    _alone, run, brook = needs
    assert [sheet.name for sheet in run.materials.lining.sheets] == ["run", "vault"]
    assert [sheet.name for sheet in brook.materials.lining.sheets] == ["brook"]
    laid = [study.work.laid.sheet for study in studies]
    assert laid[1] - laid[0] == pytest.approx(brook.materials.lining.area, rel=1e-6)
    assert not [one for one in brook.materials.rocks.gravel if "basin" in one.what]


def test_people_read_that_they_run_together(needs) -> None:
    words = [text for _, text in water_rows(needs[1], "ft")]
    assert any(text.startswith("it serves brook too: ") and text.endswith(" under way when all run") for text in words)
    assert any("when all pumps start" in text for text in words)
    small = replace(needs[1], store=replace(needs[1].store, full=needs[1].store.intake))
    (found,) = basin_of_stream_findings("ft", small)
    assert "go into run and brook when the water starts: the pump runs dry" in found.text


def test_one_basin_is_told_once(yards: tuple[Site, Site], studies: tuple[Study, Study]) -> None:
    (check,) = [one for one in studies[1].review.checks if one.check.name == "basin of a stream"]
    assert len(check.findings) <= 1


def test_a_stream_alone_with_a_flow_of_its_own_lacks_none(yards: tuple[Site, Site]) -> None:
    own = replace(yards[0].stream[0], flow=10.0 * GPM)
    site = replace(yards[0], stream=(own,), water=replace(yards[0].water, flow=None))
    (found,) = run_site(site).streams
    assert found.flow == pytest.approx(10.0 * GPM, rel=1e-12)


def test_the_key_is_read_as_a_flow(tmp_path: Path) -> None:
    import tomllib

    fields = tomllib.loads(write_yard(tmp_path).read_text(encoding="utf-8"))
    fields["survey"] = {"shots": [[0, 0, 100], [60, 0, 100], [60, 40, 99], [0, 40, 99]]}
    fields["stream"][0]["flow"] = "900 gal/h"
    assert build_site(fields).stream[0].flow == pytest.approx(15.0 * GPM, rel=1e-9)
