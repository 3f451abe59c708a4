"""Every finding on a stream: a yard that calls for it, and one that does not; the question of the trade beside each."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace

import pytest
from worked_stream import GPM, section, site, worked

from terrain.findings import Finding
from terrain.limits import FOOT, INCH
from terrain.review.running_water import (
    bank_findings,
    basin_of_stream_findings,
    people_findings,
    pump_findings,
    sill_findings,
    storm_findings,
)
from terrain.shape.long_section import PoolBed
from terrain.site.model import Site
from terrain.site.streams import Pipe, PumpPoint
from terrain.waterworks.needs import StreamNeeds

Find = Callable[[Site, StreamNeeds], Iterable[Finding]]
WEAK = tuple(PumpPoint(flow * GPM, head * FOOT) for flow, head in ((0.0, 4.0), (40.0, 0.0)))
FIT = tuple(PumpPoint(flow * GPM, head * FOOT) for flow, head in ((0.0, 12.0), (40.0, 7.36), (60.0, 0.0)))


def basin(site: Site, needs: StreamNeeds) -> Iterable[Finding]:
    return basin_of_stream_findings(site.units, needs)


def pump(site: Site, needs: StreamNeeds) -> Iterable[Finding]:
    return pump_findings(site.units, needs)


# What finds it, the yard, level, words, and a yard on which it says nothing of the kind.
CASES: tuple[tuple[str, Find, Site, str, str, Site], ...] = (
    # Half the basin's depth is under the intake: does it start at all? No: it runs dry before the water comes back.
    ("dry", basin, site(intake=1.9 * FOOT), "stop", "the pump runs dry", site()),
    # It starts, and in August it is empty in three days: the least that would do is told.
    ("short", basin, site(intake=1.2 * FOOT), "caution", "7 summer days without a refill", site()),
    # 40 gal/min in 1 1/2 in pipe: 6.3 ft/s, over the 5 ft/s that is usual.
    ("fast", pump, site(pipe=Pipe(12.0, 1.5 * INCH)), "caution", "Take a wider one", site(pipe=Pipe(12.0, 2.0 * INCH))),
    ("strong", pump, site(), "caution", "Throttle it on its outlet, never on its intake", site(pump=FIT)),
    ("weak", pump, site(pump=WEAK), "caution", "does not meet", site(pump=FIT)),
)


@pytest.mark.parametrize("case", CASES, ids=lambda case: case[0])
def test_a_finding_comes_where_it_is_called_for(case: tuple[str, Find, Site, str, str, Site]) -> None:
    _, find, yard, level, says, other = case
    found = list(find(yard, worked(section(), yard)))
    assert [one.level for one in found if says in one.text] == [level]
    assert not any(says in one.text for one in find(other, worked(section(), other)))
    assert all(one.source for one in found)


@pytest.mark.parametrize(("inches", "level"), [(3.0, "stop"), (4.0, "caution"), (9.0, "")])
def test_water_stays_under_its_banks_by_the_edge(inches: float, level: str) -> None:
    """Water 1.5 in deep, 2.2 in where the bed is rougher than stated, under banks that keep an edge of 2 in."""
    found = list(bank_findings(site(), worked(section(bank=inches * INCH))))
    assert [one.level for one in found] == ([level] if level else [])
    assert all("Dig its bed deeper" in one.text for one in found)


def test_sills_on_fill_are_set_again() -> None:
    loose, firm = site(), site()
    loose = replace(loose, soil=replace(loose.soil, settlement=0.08))
    (found,) = sill_findings(loose, worked(section(), loose))
    assert found.level == "caution"
    assert "1/16 in" in found.text
    assert "level them again after the first season" in found.text
    (note,) = sill_findings(firm, worked(section(), firm))
    assert note.level == "note"


def test_rain_is_led_away_from_trunks_and_house() -> None:
    (found,) = storm_findings("ft", worked(section()))
    for word in ("trunks", "face", "house", "neighbour"):
        assert word in found.text


def test_people_are_told_of_water_once_for_all_streams() -> None:
    needs = worked(section())
    found = list(people_findings(site(), (needs, needs)))
    assert len({one.text for one in found}) == len(found)
    assert list(people_findings(site(), ())) == []
    assert any("250 lb, more than one person may lift" in one.text for one in found)
    deep = PoolBed(6.0 * FOOT, 9.0 * FOOT, (2.0, 0.0), 99.0, 99.0 - 20.0 * INCH, 9.0 * FOOT**2, 99.0)
    drowning = [one for one in people_findings(site(), (worked(section((deep,))),)) if "drown" in one.text]
    assert "fence" in drowning[0].text
    assert not any("fence" in one.text for one in found)
