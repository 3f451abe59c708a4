"""Where a few shots of the soil set a scan most surely, whose points share more doubt than they leave open."""

from __future__ import annotations

import math

import numpy as np
import shapely

from terrain.grid import Array, Index
from terrain.ground.model_averaging import settled
from terrain.ground.shot_choice import WORTH, NextShot, candidates, greedy
from terrain.ground.spots import far_apart
from terrain.numerics import Controls, mean_left, one_thread
from terrain.site import Site

_MOST = 4  # places named
_SEEN = 0.3  # metres from a square of the scan's ground: a shot there can be held against it


def next_controls(site: Site, own: float) -> tuple[NextShot, ...]:
    """Places whose shots would narrow the bed's mean elevation most by setting the scan, the best first.

    Parameters
    ----------
    site
        A validated site with a scan, metres.
    own
        Standard deviation of that mean without what the scan's points share, metres.

    Notes
    -----
    Greedy over the covariance of the drift given the shots that set the scan, as `terrain.ground.shot_choice` is over
    that of the ground. Of a scan that nothing sets, the first lie far apart, and do nothing until there are three.
    The drift itself is taken as it is known now: what new shots will show of it, nobody can say.
    """
    scan = site.survey.scan
    if scan is None:
        return ()
    cells = site.survey.shots[site.survey.scanned, :2]
    bed = cells[shapely.contains_xy(site.bed.outline, *cells.T)]
    tried = _seen(candidates(site), cells)
    if not len(bed) or not len(tried):
        return ()
    controls, steps = scan.shared.controls, [math.hypot(own, scan.shared.mean)]
    with one_thread():
        chosen = tried[_rows(controls, bed, tried)]
        for count in range(1, len(chosen) + 1):
            after = math.hypot(mean_left(controls.with_more(chosen[:count]), bed), scan.shared.left, own)
            steps.append(min(after, steps[-1]))
    worth = [count for count in range(1, len(steps)) if steps[count] <= (1.0 - WORTH) * steps[count - 1]]
    named = zip(chosen.tolist(), steps[1 : max(worth, default=0) + 1], strict=False)
    return tuple(NextShot((east, north), after) for (east, north), after in named)


def _seen(places: Array, cells: Array) -> Array:
    """The places at which the scan shows its ground."""
    from scipy.spatial import cKDTree

    return places[np.asarray(cKDTree(cells).query(places)[0]) <= _SEEN]


def _rows(controls: Controls, bed: Array, tried: Array) -> Index:
    """Rows of the places tried, best first."""
    if not controls.set_plane:
        return far_apart(tried, min(_MOST, len(tried)), controls.places)
    middle = controls.middle
    return np.array(greedy(settled(controls.process()), bed - middle, tried - middle, controls.one, _MOST))
