"""Existing grade as the likeliest surface of its kind: the covariance that the shots speak for, and kriging with it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from terrain.ground.shots import LocalShots
from terrain.ground.weighing import RELIEF
from terrain.numerics import (
    ENOUGH_TO_FIT,
    Covariance,
    Kriging,
    ShotTable,
    fit_covariance,
    krige_with,
    shot_table,
    with_sill,
)

FEWEST_TO_FIT = 7  # shots from which a covariance can be fitted beside a plane


def fit_kriging(shots: LocalShots) -> Kriging:
    """Fit the covariance to the shots by restricted maximum likelihood and krige with it.

    With fewer than `FEWEST_TO_FIT` shots the covariance is assumed, not fitted. With more than
    `ENOUGH_TO_FIT` the length is fitted to a part of them, and the sill is then set so that the leave-one-out
    residuals of all have the size that the process expects of them (Bachoc, Computational Statistics and Data
    Analysis 66, 2013). Points of breaklines are exact data of the process but take no part in the fit: they are not
    measured one by one, and a line of them is straighter than ground.
    """
    free = shots.free
    covariance = assumed_covariance(shots) if free < FEWEST_TO_FIT else fit_covariance(free_table(shots))
    process = krige_with(shots.places, shots.heights, shots.error, covariance)
    if free <= ENOUGH_TO_FIT:
        return process
    factor = float(np.nanmean((process.residuals[:free] / process.expected[:free]) ** 2))
    factor = max(factor, 1e-6)
    if not shots.error.any():
        return with_sill(process, factor)
    rescaled = replace(covariance, sill=covariance.sill * factor)
    return krige_with(shots.places, shots.heights, shots.error, rescaled)


def free_table(shots: LocalShots) -> ShotTable:
    """What the likelihood needs of the shots that stand off every breakline."""
    free = shots.free
    return shot_table(shots.places[:free], shots.heights[:free], shots.error[:free] ** 2)


def assumed_covariance(shots: LocalShots) -> Covariance:
    """Covariance for a handful of shots: of ground that leaves its plane as `RELIEF` has it."""
    return Covariance(smoothness=1.5, correlation_length=0.5, sill=(RELIEF * shots.scale) ** 2)
