"""A dense surface set by a few points that are surer than it: what they move it by, and what it is then worth.

Near points of one scan share their error, and no number of them makes that smaller; only points that were measured
otherwise do. The difference is taken as an unknown plane and a drift that fades over a length, and kriged.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from terrain.grid import Array, Index
from terrain.numerics.covariance import Covariance
from terrain.numerics.kriging import Kriging, krige_with, kriged, mean_and_deviation
from terrain.numerics.normal import CENTRAL_90

_LENGTH = 5.0  # metres over which the drift of a walked scan fades: common practice, no published source
_PRIOR = 4.0  # differences that the assumed drift counts for
_FAR = 4.0  # deviations off the others, from which a difference is not heeded
_MIDDLE = 1.4826  # standard deviations of a normal law to its median of sizes
_LEAST_FAR = 0.03  # metres
_ENOUGH = 6  # differences of which one may be left out
FEWEST_CONTROLS = 3  # an unknown plane needs as many
_IN_LINE = 0.05  # of their length: controls spread less across it set no plane


@dataclass(frozen=True)
class Controls:
    """Points that set a surface, whatever they read.

    `places` (n, 2) and `error` (n,) of the difference at each, `drift` what near points of the surface share, `one` the
    error of another control; standard deviations, metres.
    """

    places: Array
    error: Array
    drift: float
    one: float

    @property
    def set_plane(self) -> bool:
        """Whether an unknown plane is set by them."""
        return _set_plane(self.places)

    def with_more(self, places: Array) -> Controls:
        """With (k, 2) more of them."""
        error = np.append(self.error, np.full(len(places), self.one))
        return replace(self, places=np.vstack([self.places, places]), error=error)

    def process(self) -> Kriging:
        """What they leave open of the surface, about their middle; its heights are 0."""
        covariance = Covariance(0.5, _LENGTH, self.drift**2)
        return krige_with(self.places - self.middle, np.zeros(len(self.places)), self.error, covariance)

    @property
    def middle(self) -> Array:
        """Of their places (2,)."""
        return np.asarray(self.places.mean(axis=0))


@dataclass(frozen=True)
class SetSurface:
    """What the controls make of the surface.

    `moved` (m,) by how much it rises at each place, `mean` and `place` the standard deviations (metres) of its mean
    over the targets and of one of them, `controls` those that are heeded, with what near points share as they show it,
    `unheeded` the rows of controls that lie too far off the others.
    """

    moved: Array
    mean: float
    place: float
    controls: Controls
    unheeded: tuple[int, ...]


def set_by(controls: Array, error: Array, drift: float, places: Array, targets: Array) -> SetSurface:
    """Set a surface by its differences from controls.

    Parameters
    ----------
    controls
        (n, 3) easting, northing, and control minus surface, metres; three or more that do not stand in line.
    error
        (n,) standard deviation of each difference, metres.
    drift
        Standard deviation assumed of what near points of the surface share; it counts for four differences, and the
        controls themselves for the rest.
    places, targets
        (m, 2) places of the surface, and (k, 2) over which its mean is asked.
    """
    middle = controls[:, :2].mean(axis=0)
    local = controls - (*middle, 0.0)
    rows = _heeded(local, error, drift)
    model = _fitted(local[rows], error[rows], drift)
    shown = math.sqrt(model.covariance.sill)
    heeded = Controls(controls[rows, :2], model.error, shown, float(np.median(model.error)))
    moved, _ = kriged(model, places - middle)
    _, each = kriged(model, targets - middle)
    return SetSurface(
        moved,
        mean_left(heeded, targets),
        _wider(len(rows)) * float(np.sqrt(np.mean(each**2))),
        heeded,
        tuple(sorted(set(range(len(controls))) - set(rows.tolist()))),
    )


def mean_left(controls: Controls, targets: Array) -> float:
    """Standard deviation (metres) of the surface's mean over (k, 2) targets once it is set; inf where it is not."""
    if not controls.set_plane:
        return math.inf
    _, mean = mean_and_deviation(controls.process(), targets - controls.middle)
    return _wider(len(controls.places)) * mean


def _set_plane(places: Array) -> bool:
    """Whether an unknown plane is set by (n, 2) places: by three and more that do not stand in line."""
    if len(places) < FEWEST_CONTROLS:
        return False
    spread = np.linalg.svd(places - places.mean(axis=0), compute_uv=False)
    return bool(spread[1] > _IN_LINE * spread[0])


def _heeded(controls: Array, error: Array, drift: float) -> Index:
    """Rows of the controls without those that lie far off the others, by what the others differ among themselves."""
    rows: Index = np.arange(len(controls))
    while len(rows) >= _ENOUGH:
        off = np.abs(np.nan_to_num(_fitted(controls[rows], error[rows], drift).residuals))
        usual = np.hypot(drift, error[rows])
        worst = int(np.argmax(off / usual))
        others = np.delete(rows, worst)
        if not _set_plane(controls[others, :2]):
            break
        among = np.abs(np.nan_to_num(_fitted(controls[others], error[others], drift).residuals))
        bound = _FAR * max(float(usual[worst]), _MIDDLE * float(np.median(among)))
        if off[worst] <= max(bound, _LEAST_FAR):
            break
        rows = others
    return rows


def _fitted(controls: Array, error: Array, drift: float) -> Kriging:
    """The process through the differences, its drift between what is assumed and what they show."""
    covariance = Covariance(0.5, _LENGTH, drift * drift)
    model = krige_with(controls[:, :2], controls[:, 2], error, covariance)
    left = len(controls) - FEWEST_CONTROLS
    seen = float(controls[:, 2] @ model.weights)  # of a chi squared with `left` degrees of freedom
    factor = (_PRIOR + max(seen, 0.0)) / (_PRIOR + left)
    covariance = replace(covariance, sill=covariance.sill * factor)
    grown = error * math.sqrt(max(factor, 1.0))
    return krige_with(controls[:, :2], controls[:, 2], grown, covariance)


def _wider(count: int) -> float:
    """Student's t beside the normal, at the ends of the central 90 %, for so many controls."""
    from scipy.special import stdtrit

    return float(stdtrit(_PRIOR + count - FEWEST_CONTROLS, 0.95)) / CENTRAL_90
