"""The simplest cause that explains how the shots stand off the plan, and how much better it does than none.

Each cause is fitted to every shot by least squares in which a shot that stands far off counts less (Huber, Annals of
Mathematical Statistics 35, 1964), and has to pay for its unknowns (Schwarz, Annals of Statistics 6, 1978: the logarithm
of the number of shots for each), so that the simpler of two that explain alike comes first.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from terrain.field.asbuilt.model import AS_PLANNED, BuiltShot, Cause, Stage
from terrain.field.asbuilt.surface import planned
from terrain.flow import Study
from terrain.grid import Array, Mask

_FEWEST = 6  # shots on the work with which a cause is looked for
_EVEN = 1.0 / 3.0  # of the tolerance that a careful crew rakes to, one standard deviation: common practice
_FAR = 3.0  # deviations from which a shot counts less
ENOUGH = 0.6  # of the misfit that a cause must explain to be told
_MENDED = 0.6  # of the shots that stand off which must be within their bound once a cause is taken out
_FARTHEST, _STEP = 1.5, 0.25  # metres that a mound is looked for aside, and steps of the first look
_LAYERS, _THINNEST = 20, 0.0005  # steps of the look for a layer, and metres at which it ends
_HOLLOWS = (0.75, 1.0, 1.5, 2.0, 3.0)  # metres: radii of a hollow that are tried
_UNKNOWNS = {"share": 1, "shifted": 2, "local": 4}

Surface = Callable[[Array], Array]  # elevation or height in metres at (n, 2) places
Told = tuple[Cause, Array]  # a cause, and how far each shot stands off because of it, metres


@dataclass(frozen=True)
class _Off:
    """How far shots stand off, (n,) metres, where (n, 2), with the height of the plan over existing grade there.

    `filled` (n,) tells the shots on ground that takes fill.
    """

    places: Array
    off: Array
    planned: Array
    noise: float
    filled: Mask

    def misfit(self, explained: Array | float) -> float:
        """What a cause leaves: squares of deviations, beyond `_FAR` growing no faster than the deviations."""
        u = np.abs(self.off - explained) / self.noise
        return float(np.where(u <= _FAR, u**2, 2.0 * _FAR * u - _FAR**2).sum())


def likely_cause(study: Study, shots: Sequence[BuiltShot], stage: Stage, tolerance: float) -> Told:
    """The simplest cause of what stands off, and how far it puts each shot off.

    Parameters
    ----------
    study
        The yard worked through.
    shots
        Every shot, a slip of the benchmark taken out already.
    stage, tolerance
        The plan they are held against, and how far a shot may stand off, metres.
    """
    none = np.zeros(len(shots))
    work = np.array([shot.where in ("mound", "dig") for shot in shots])
    off = np.array([shot.off(stage) for shot in shots])
    apart = work & (np.abs(off) > tolerance)
    if work.sum() < _FEWEST or not apart.any():
        return AS_PLANNED, none
    used = work | np.array([shot.where == "outside the bed" for shot in shots])
    (height, plan), places = _over(study, stage), np.array([shot.at for shot in shots])[used]
    noise = float(np.hypot(study.site.survey.accuracy, _EVEN * tolerance))
    filled = np.array([shot.where == "mound" for shot in shots])[used]
    seen = _Off(places, off[used], height(places), noise, filled)
    _, cause, found = min(_fits(seen, height, plan, study.site.bed.sod), key=lambda one: one[0])
    explained = none.copy()
    explained[used] = found
    share = 1.0 - seen.misfit(found) / seen.misfit(0.0)
    mended = float((np.abs(off - explained)[apart] <= tolerance).mean())
    if share < ENOUGH or mended < _MENDED:
        return _worst(shots, stage), none
    return cause.explaining(share), explained


def _over(study: Study, stage: Stage) -> tuple[Surface, Surface]:
    """The plan over existing grade, and the plan itself, metres, at (n, 2) places."""
    grid, plan = study.proposal.grid, planned(study, stage)[0]
    over = plan - study.ground.elevation
    return (lambda places: grid.sample(over, places)), (lambda places: grid.sample(plan, places))


def _fits(seen: _Off, height: Surface, plan: Surface, bare: float) -> Iterator[tuple[float, Cause, Array]]:
    """Every cause at its best, with its price and how far it puts the shots off.

    A mound stands aside on the ground that is there; where its shots are aside, the ground comes along. A layer is
    missing down to that ground, or to what was stripped of it, or as thick at the toe as elsewhere.
    """
    layers = [_of_layer(seen, under) for under in (0.0, bare, np.inf)]
    for cause, explained in (
        _of_share(seen),
        *layers,
        _of_shift(seen, height),
        _of_shift(seen, plan),
        _of_hollow(seen),
    ):
        price = _UNKNOWNS[cause.kind] * float(np.log(len(seen.off)))
        yield seen.misfit(explained) + price, cause, explained


def _of_share(seen: _Off) -> tuple[Cause, Array]:
    """All the fill a share too low; what is dug settles nothing."""
    fill = np.maximum(seen.planned, 0.0)
    share = -_slope(fill, seen)
    return Cause("share", share=share), -share * fill


def _of_layer(seen: _Off, under: float) -> tuple[Cause, Array]:
    """An even layer missing over all the fill and down to `under` the old ground, metres; or one too much."""
    fill = np.maximum(seen.planned, 0.0)
    most = np.where(seen.filled, fill + under, 0.0)

    def missing(layer: float) -> Array:
        return np.minimum(np.where(seen.filled, layer, 0.0), most)

    best, step = 0.0, float(fill.max(initial=0.0)) / _LAYERS
    while step > _THINNEST:
        tried = [best + step * k for k in range(-_LAYERS, _LAYERS + 1)]
        best = min(tried, key=lambda layer: seen.misfit(-missing(layer)))
        step *= 2.0 / _LAYERS
    off = missing(best)
    return Cause("share", share=float(off.sum() / max(float(fill.sum()), _THINNEST)), layer=best), -off


def _slope(shape: Array, seen: _Off) -> float:
    """The factor on a shape that explains most, a far shot counting less: least squares, weighed anew eight times."""
    weights, factor = np.ones(len(shape)), 0.0
    for _ in range(8):
        squares = float((weights * shape**2).sum())
        factor = float((weights * shape * seen.off).sum()) / squares if squares > 0.0 else 0.0
        weights = _FAR / np.maximum(np.abs(seen.off - factor * shape) / seen.noise, _FAR)
    return factor


def _of_shift(seen: _Off, surface: Surface) -> tuple[Cause, Array]:
    """A whole surface aside by east and north: looked for in steps, then in finer ones about the best."""
    bare = surface(seen.places)

    def moved(by: Array) -> Array:
        return np.asarray(surface(seen.places - by) - bare)

    best, step = np.zeros(2), _STEP
    reach = int(_FARTHEST / _STEP)
    while step > 0.005:
        tried = [best + step * np.array([i, j]) for i in range(-reach, reach + 1) for j in range(-reach, reach + 1)]
        best = min(tried, key=lambda by: seen.misfit(moved(by)))
        reach, step = 2, step / 2.0
    return Cause("shifted", east=float(best[0]), north=float(best[1])), moved(best)


def _of_hollow(seen: _Off) -> tuple[Cause, Array]:
    """One place hollow, or too high: looked for round the shots that are off most, then about the best of these."""
    from scipy.optimize import minimize

    def left(hollow: Array) -> float:
        return seen.misfit(_bowl(seen, hollow)[1])

    worst = seen.places[np.argsort(-np.abs(seen.off))[:12]]
    first = min((np.array([*at, radius]) for at in worst for radius in _HOLLOWS), key=left)
    best = minimize(left, first, method="Nelder-Mead", options={"maxiter": 120, "xatol": 0.02, "fatol": 0.05}).x
    level, explained = _bowl(seen, best)
    return Cause("local", level=level, radius=_radius(best), at=(float(best[0]), float(best[1]))), explained


def _bowl(seen: _Off, hollow: Array) -> tuple[float, Array]:
    """How deep a smooth bowl of a place and a radius (3,) is, metres, and how far it puts the shots off."""
    away = np.hypot(*(seen.places - hollow[:2]).T)
    shape = np.maximum(1.0 - (away / _radius(hollow)) ** 2, 0.0) ** 2
    level = _slope(shape, seen)
    return level, level * shape


def _radius(hollow: Array) -> float:
    """Of one place: never so small that it is a shot alone, never so large that it is the mound."""
    return float(np.clip(abs(hollow[2]), _HOLLOWS[0], _HOLLOWS[-1]))


def _worst(shots: Sequence[BuiltShot], stage: Stage) -> Cause:
    """No one cause explains the shots: the place that is off most, alone."""
    work = [shot for shot in shots if shot.where in ("mound", "dig")]
    worst = max(work, key=lambda shot: abs(shot.off(stage)))
    return Cause("local", explains=0.0, level=worst.off(stage), at=worst.at)
