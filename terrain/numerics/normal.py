"""The normal distribution: how far the central nine tenths reach."""

from __future__ import annotations

from statistics import NormalDist

CENTRAL_90 = NormalDist().inv_cdf(0.95)  # standard deviations from the middle to either end of the central 90 %
