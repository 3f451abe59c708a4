"""The storm and a building's levels in a site file: any unit, one message a slip, and what stands in is stated."""

from __future__ import annotations

from pathlib import Path

import pytest
from invented_yard import FOOT, SITE, refusal, yard

INCH, HOUR = FOOT / 12.0, 3600.0


def with_storm(lines: str) -> str:
    return f"{SITE}\n[storm]\n{lines}\n"


@pytest.mark.parametrize(
    ("line", "key", "value"),
    [
        ('rain = "2 in"', "rain", 2 * INCH),
        ('rain = "50 mm"', "rain", 0.05),
        ("rain = 0.25", "rain", 0.25 * FOOT),
        ("hours = 6", "hours", 6.0),
        ('hours = "90 min"', "hours", 1.5),
        ('intake = "0.5 in/h"', "intake", 0.5 * INCH / HOUR),
        ('intake = "12 mm per hour"', "intake", 0.012 / HOUR),
        ("intake = 0", "intake", 0.0),
    ],
)
def test_a_storm_is_read_in_si(tmp_path: Path, line: str, key: str, value: float) -> None:
    assert getattr(yard(tmp_path, with_storm(line)).storm, key) == pytest.approx(value, rel=1e-12)


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("rain = 2", "2 of rain is 2 ft, more than any storm brings"),
        ("rain = 0", "is not above zero"),
        ("hours = 0", "is no length of a storm"),
        ("hours = 300", "is no length of a storm"),
        ("hours = true", "not a time"),
        ("intake = 0.5", "no rate at which ground takes water"),
        ('intake = "0.5 in"', "no rate at which ground takes water"),
        ('intake = "-1 in/h"', "no rate at which ground takes water"),
        ('intake = "50 in/h"', "At most 1000 mm/h"),
        ("depth = 1", "is not a known key"),
    ],
)
def test_a_slip_in_a_storm_is_refused_with_what_would_do(tmp_path: Path, line: str, words: str) -> None:
    assert words in refusal(tmp_path, with_storm(line))


@pytest.mark.parametrize(
    ("kind", "per_hour"),
    # FAO, Irrigation methods, Annex 2, the lower end of each range: sand over 30 mm, sandy loam 20, loam 10, clay loam
    # 5, clay 1.
    [("sand", 30), ("sandy loam", 20), ("loam", 10), ("topsoil", 10), ("clay loam", 5), ("clay", 1), ("silty clay", 1)],
)
def test_what_wet_ground_takes_follows_its_kind(tmp_path: Path, kind: str, per_hour: float) -> None:
    storm = yard(tmp_path, SITE.replace('kind       = "loam"', f'kind = "{kind}"')).design_storm
    assert storm.assumed == ("rain", "hours", "intake")
    assert storm.intake * HOUR * 1000.0 == pytest.approx(per_hour)
    assert (storm.rain, storm.lasts) == (pytest.approx(2 * INCH), 6 * HOUR)


@pytest.mark.parametrize("key", ["foundation_top", "siding", "sill"])
def test_the_levels_of_a_building_stand_near_the_ground(tmp_path: Path, key: str) -> None:
    house = '\n[[building]]\nname = "house"\noutline = [[0, 40], [10, 40], [10, 50], [0, 50]]\n'
    assert getattr(yard(tmp_path, f"{SITE}{house}{key} = 101.0\n").building[-1], key) == pytest.approx(101.0 * FOOT)
    assert "far from the elevations of the shots" in refusal(tmp_path, f"{SITE}{house}{key} = 500.0\n")
