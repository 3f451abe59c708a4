"""Which surface: each is tried with every shot left out in turn, and the one that misses least is taken."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np

from terrain.errors import InputError
from terrain.grid import Array, frozen
from terrain.ground.kriging import Kriging, fit_kriging, kriged
from terrain.ground.shots import LocalShots
from terrain.ground.smooth_grid import evaluate
from terrain.ground.thin_plate import ThinPlate, bent_plate, fit_thin_plate
from terrain.ground.triangulation import (
    Triangulation,
    carried_on,
    fit_triangulation,
    left_out_by_triangulation,
)

METHODS = ("triangulation", "thin_plate", "kriging")


@dataclass(frozen=True)
class FittedGround:
    """Every surface through one set of shots, and the one that was chosen.

    Parameters
    ----------
    shots
        The shots in their own frame.
    tin, plate, process
        The three surfaces; the process also tells how sure the height is, whichever surface is chosen.
    errors
        Leave-one-out RMS error in metres of each method over the shots inside the hull of the others (over
        all shots that a method can leave out, where none lies inside).
    method
        The chosen one.
    """

    shots: LocalShots
    tin: Triangulation
    plate: ThinPlate
    process: Kriging
    errors: Mapping[str, float]
    method: str


def fit_ground(shots: LocalShots, method: str = "auto") -> FittedGround:
    """Fit all surfaces and choose by leave-one-out error, or take the method named.

    Raises `InputError` for an unknown method, naming those there are.
    """
    check_method(method)
    tin = fit_triangulation(shots.places, shots.heights)
    plate = fit_thin_plate(shots.places, shots.heights)
    process = fit_kriging(shots.places, shots.heights, shots.error)
    residuals = (left_out_by_triangulation(tin), plate.residuals, process.residuals)
    errors = _errors(residuals)
    chosen = min(errors, key=lambda name: errors[name]) if method == "auto" else method
    return FittedGround(shots, tin, plate, process, MappingProxyType(errors), chosen)


def check_method(method: str) -> None:
    """Raise `InputError` for a method that is not one of `METHODS` or "auto"."""
    if method not in (*METHODS, "auto"):
        raise InputError(
            "method", f'"{method}" is not a known method.', f"Accepted: auto, {', '.join(METHODS)}."
        )


def _errors(residuals: tuple[Array, ...]) -> dict[str, float]:
    """RMS of each method's residuals over the shots that every method could leave out."""
    shared = np.isfinite(np.array(residuals)).all(axis=0)
    if not shared.any():
        shared = np.isfinite(residuals[-1])
    return {
        name: float(np.sqrt(np.mean(rest[shared] ** 2))) if np.isfinite(rest[shared]).all() else float("nan")
        for name, rest in zip(METHODS, residuals, strict=True)
    }


def elevation_and_deviation(ground: FittedGround, targets: Array) -> tuple[Array, Array]:
    """Elevation by the chosen method and its standard deviation, metres, at (m, 2) survey coordinates."""
    shots = ground.shots
    places = shots.local(targets)
    spacing = np.sqrt(hull_area(ground.tin) / len(shots.places))
    process: Callable[[Array], Array] = lambda at: _height_and_variance(ground.process, at)  # noqa: E731
    height, variance = evaluate(process, shots.places, spacing, places)
    if ground.method == "triangulation":
        height = carried_on(ground.tin, places)
    if ground.method == "thin_plate":
        height = evaluate(lambda at: bent_plate(ground.plate, at)[None], shots.places, spacing, places)[0]
    return frozen(height + shots.base), frozen(np.sqrt(np.maximum(variance, 0.0)))


def _height_and_variance(process: Kriging, places: Array) -> Array:
    """Height and variance as (2, m): the variance is smooth at the shots where the deviation is not."""
    height, deviation = kriged(process, places)
    return np.array([height, deviation**2])


def hull_area(tin: Triangulation) -> float:
    """Area of the hull of the shots in frame units, by the shoelace formula."""
    corners = tin.places[tin.ring]
    after = np.roll(corners, -1, axis=0)
    return 0.5 * float(np.sum(corners[:, 0] * after[:, 1] - corners[:, 1] * after[:, 0]))
