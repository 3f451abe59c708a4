"""The part of a storm that runs off, against the sum over its minutes and against its ends."""

import numpy as np
import pytest

from terrain.numerics.rainfall import peak_rain, peak_runoff, runoff_depth

HOUR, INCH = 3600.0, 0.0254


@pytest.mark.parametrize("rain", [0.5, 2.0, 6.0])
@pytest.mark.parametrize("hours", [1.0, 6.0, 24.0])
@pytest.mark.parametrize("intake", [0.0, 0.04, 0.4, 2.0])
def test_what_runs_off_is_what_falls_faster_than_the_ground_takes(rain, hours, intake):
    time = (np.arange(200_000) + 0.5) / 200_000 * hours
    rate = rain / hours * 2.0 * (1.0 - np.abs(2.0 * time / hours - 1.0))
    assert rate.mean() * hours == pytest.approx(rain, rel=1e-9)
    over = np.maximum(rate - intake, 0.0)
    given = rain * INCH, hours * HOUR, intake * INCH / HOUR
    assert runoff_depth(*given) == pytest.approx(over.mean() * hours * INCH, rel=1e-6, abs=1e-12)
    assert peak_runoff(*given) == pytest.approx(over.max() * INCH / HOUR, rel=1e-3, abs=1e-12)


def test_ends():
    assert runoff_depth(0.05, HOUR, 0.0) == 0.05
    assert runoff_depth(0.0, HOUR, 1e-6) == 0.0
    assert peak_rain(0.05, HOUR) == pytest.approx(0.1 / HOUR)
