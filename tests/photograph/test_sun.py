"""The sun's place against published values."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta, timezone

import pytest

from terrain.photograph.sun import sun_at


@pytest.mark.parametrize(
    ("when", "zone", "north", "east", "bearing", "height", "tolerance"),
    [
        # NREL/TP-560-34302 (2008), table A5.1, worked by another, finer algorithm at the air pressure of a mountain.
        (datetime(2003, 10, 17, 12, 30, 30), -7, 39.742476, -105.1786, 194.34024, 90.0 - 50.11162, 0.01),
        # NOAA's day sheet of 21 June 2010; its elevation is without refraction, which below the horizon is 0.0116.
        (datetime(2010, 6, 21, 0, 6, 0), -7, 40.0, -105.0, 1.0986712, -26.5537621 + 0.0116, 1e-3),
    ],
)
def test_published_places_of_the_sun(
    when: datetime, zone: int, north: float, east: float, bearing: float, height: float, tolerance: float
) -> None:
    found = sun_at(when.replace(tzinfo=timezone(timedelta(hours=zone))), north, east)
    assert found.bearing == pytest.approx(bearing, abs=tolerance)
    assert found.height == pytest.approx(height, abs=tolerance)


def test_the_sun_does_not_depend_on_how_the_hour_is_written() -> None:
    noon = datetime(2026, 6, 21, 19, 0, tzinfo=UTC)
    again = noon.astimezone(timezone(timedelta(hours=-4)))
    assert sun_at(noon, 41.0, -74.0) == sun_at(again, 41.0, -74.0)
