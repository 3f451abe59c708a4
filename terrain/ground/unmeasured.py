"""Ground that nobody measured, taken as flat, and what a first survey of twenty shots would make of it."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import shapely
from shapely.geometry import MultiPoint

from terrain.grid import Array, frozen
from terrain.ground.kriging import FEWEST_TO_FIT, assumed_covariance
from terrain.ground.model import Ground, GroundCheck
from terrain.ground.shots import local_shots
from terrain.ground.spots import BED_POINTS, far_apart, points_over
from terrain.ground.yard import yard_grid
from terrain.limits import UNSEEN_MEAN, UNSEEN_PLACE
from terrain.numerics import krige_with, mean_and_deviation, one_thread
from terrain.site import FLAT, Site

TWENTY = 20  # shots that make a useful ground: common practice, no published source
_BEYOND = 0.08  # of the bed's longer side: shots just outside its line hold the edge
_SAME = 0.1  # of a shot's deviation: shots that differ by less read the same
_TRIED = 900  # places among which those to shoot are spread


def flat_ground(site: Site) -> Ground:
    """Level ground over the yard, as unsure as ground is that nobody measured (`UNSEEN_MEAN`, `UNSEEN_PLACE`)."""
    grid, size = yard_grid(site), math.sqrt(site.bed.outline.area)
    hull = MultiPoint(site.survey.shots[:, :2]).convex_hull
    nodes = grid.nodes
    inside = shapely.intersects_xy(hull, nodes[:, 0], nodes[:, 1]).reshape(grid.shape)
    return Ground(
        grid=grid,
        elevation=frozen(np.full(grid.shape, float(site.survey.shots[0, 2]))),
        deviation=frozen(np.full(grid.shape, UNSEEN_PLACE.value * size)),
        surveyed=frozen(np.asarray(inside)),
        hull=hull,
        check=GroundCheck(FLAT, {}, math.nan, 0),
        mean_deviation=UNSEEN_MEAN.value * size,
        notes=(*site.survey.notes, "Nothing was measured: the ground is taken as flat."),
        made_for=site.survey_print,
    )


def all_alike(site: Site) -> bool:
    """Whether a file of shots holds one elevation only: no rod reads so, and somebody typed what nobody measured."""
    survey = site.survey
    return bool(survey.file) and survey.measured and float(np.ptp(survey.shots[:, 2])) <= _SAME * survey.accuracy


def as_unsure_as_unseen(site: Site, ground: Ground) -> Ground:
    """The ground with a range that is no narrower than that of ground which nobody measured."""
    size = math.sqrt(site.bed.outline.area)
    deviation = np.maximum(ground.deviation, UNSEEN_PLACE.value * size)
    mean = max(ground.mean_deviation, UNSEEN_MEAN.value * size)
    return replace(ground, deviation=frozen(deviation), mean_deviation=mean)


def guessed(ground: Ground) -> bool:
    """Whether the range of a ground is assumed, for want of shots, and not measured by them."""
    return ground.check.shots < FEWEST_TO_FIT


def first_shots(site: Site) -> Array:
    """Places (20, 2), metres, where a first survey stands well, in the order of a walk.

    Over the bed and just outside it, far from one another.
    """
    west, south, east, north = site.bed.outline.bounds
    tried = points_over(site.bed.outline.buffer(_BEYOND * max(east - west, north - south)), _TRIED)
    return _walked(tried[far_apart(tried, TWENTY, tried[:0])])


def _walked(places: Array) -> Array:
    """The places from one to the nearest that is left, from the first on."""
    order, left = [0], set(range(1, len(places)))
    while left:
        here = places[order[-1]]
        order.append(min(left, key=lambda k: (float(np.hypot(*(places[k] - here))), k)))
        left.remove(order[-1])
    return np.asarray(places[order])


def deviations_after(site: Site) -> Array:
    """(20,) what `Ground.mean_deviation` is expected to be once so many of `first_shots` are taken, metres.

    By the ground model itself: its covariance for ground of which little is known, with shots of the site's accuracy.
    What the shots will read does not matter to it. Before three shots there is no plane, and nothing is known yet.
    """
    places, bed = first_shots(site), points_over(site.bed.outline, BED_POINTS)
    unseen = UNSEEN_MEAN.value * math.sqrt(site.bed.outline.area)
    with one_thread():
        shots = local_shots(np.column_stack([places, np.zeros(len(places))]), site.survey.accuracy)
        covariance, targets = assumed_covariance(shots), shots.local(bed)
        found = [unseen] * FEWEST_TO_FIT
        for count in range(FEWEST_TO_FIT + 1, len(places) + 1):
            part = slice(0, count)
            process = krige_with(shots.places[part], shots.heights[part], shots.error[part], covariance)
            found.append(min(found[-1], mean_and_deviation(process, targets)[1]))
    return np.array(found)


def deviation_after_shots(site: Site) -> float:
    """The last of `deviations_after`: what twenty shots leave, metres."""
    return float(deviations_after(site)[-1])
