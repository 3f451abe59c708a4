"""What all points of a scan share, in the doubt of the ground that it gives."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TypeVar

import numpy as np

from terrain.grid import frozen
from terrain.ground.model import DoubtfulShot, Ground, ReadAgain
from terrain.site import Site

Told = TypeVar("Told", DoubtfulShot, ReadAgain)


def with_shared(site: Site, ground: Ground) -> Ground:
    """The ground with the error that the points of a scan have in common, which no fit to them can see."""
    scan = site.survey.scan
    if scan is None:
        return ground
    return replace(
        ground,
        deviation=frozen(np.hypot(ground.deviation, scan.shared.place)),
        mean_deviation=with_shared_mean(site, ground.mean_deviation),
    )


def without_scanned(site: Site, shots: tuple[Told, ...]) -> tuple[Told, ...]:
    """Shots worth a word without those of a scan, which nobody can read again; the surface heeds them as it did."""
    scanned = {tuple(row) for row in site.survey.shots[site.survey.scanned, :2].tolist()}
    return tuple(shot for shot in shots if shot.at not in scanned)


def with_shared_mean(site: Site, deviation: float) -> float:
    """The standard deviation of the bed's mean elevation (metres), what the points of a scan share with it."""
    scan = site.survey.scan
    return deviation if scan is None else math.hypot(deviation, scan.shared.mean)
