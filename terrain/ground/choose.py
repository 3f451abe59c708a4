"""The surfaces through the shots: kriging, on creased ground the facets, or the one that is asked for."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from types import MappingProxyType

import numpy as np

from terrain.errors import InputError
from terrain.grid import Array, frozen
from terrain.ground.creases import nearness
from terrain.ground.hundreds import heights_of_hundreds, kriged_from_hundreds
from terrain.ground.line_doubt import on_lines
from terrain.ground.model_averaging import (
    LikelyGround,
    blended_height,
    blended_residuals,
    held_to,
    likely_ground,
    settled,
    widening,
)
from terrain.ground.neighbourhoods import ManyShots, fit_many, heights_nearby, kriged_nearby
from terrain.ground.shots import LocalShots
from terrain.ground.weighing import BLUNDER_CHANCE
from terrain.numerics import (
    COARSE,
    FINE,
    Kriging,
    ShotTriangulation,
    Surface,
    ThinPlate,
    bent_plate,
    carried_on,
    evaluate,
    fit_thin_plate,
    fit_triangulation,
    hull_area,
    kriged,
    left_out_by_triangulation,
)

METHODS = ("triangulation", "thin_plate", "kriging")
_BLENDED = 150  # shots up to which the likely covariances are blended; with more, one of them rules
_LATTICE_PAYS = 3.0 * COARSE**2  # places to one of thousands of shots from which a lattice pays
_MANY_SHOTS = 500  # from which the deviation is that of the shots nearby, worked out on a coarse lattice


@dataclass(frozen=True)
class FittedGround:
    """The surfaces through one set of shots, and the one that was chosen.

    Parameters
    ----------
    shots
        The shots in their own frame.
    tin, process
        The facets, and the process, which also tells how sure the height is, whichever surface is chosen.
    many
        Where there are more shots than `MOST_SHOTS`: all of them, to be kriged from those near each place. The
        triangulation then goes through all of them too, while `shots`, `plate`, `process` and `coarse` hold means by
        cells.
    likely
        The processes that the shots leave likely.
    blend
        Those whose heights, weighed, make the kriged surface: the likely ones, or the likeliest alone where the
        shots are so many that the others add nothing.
    method
        The chosen one.
    coarse
        The facets through the means by cells; None where `tin` goes through no more.
    """

    shots: LocalShots
    tin: ShotTriangulation
    process: Kriging
    likely: LikelyGround
    blend: LikelyGround
    method: str
    many: ManyShots | None = None
    coarse: ShotTriangulation | None = None

    @cached_property
    def plate(self) -> ThinPlate:
        """The thin plate; worked out when first asked for."""
        return fit_thin_plate(self.shots.places, self.shots.heights)

    @cached_property
    def left_out(self) -> tuple[Array, Array, Array]:
        """Each shot off the breaklines less the surface through the others, metres, by each of `METHODS` in turn."""
        by_facets = left_out_by_triangulation(self.coarse or self.tin)
        residuals = (by_facets, self.plate.residuals, blended_residuals(self.blend))
        facets, plate, kriged_ones = (each[: self.shots.free] for each in residuals)
        return facets, plate, kriged_ones

    @cached_property
    def errors(self) -> Mapping[str, float]:
        """Leave-one-out RMS error in metres of each method over the shots inside the hull of the others.

        Over all shots that a method can leave out, where none lies inside. Worked out when first asked for: with
        thousands of shots it takes longer than the surface.
        """
        return MappingProxyType(_errors(self.left_out))


def fit_ground(shots: LocalShots, method: str = "auto", chance: float = BLUNDER_CHANCE) -> FittedGround:
    """Fit the surfaces and take the method named; "auto" is kriging, and the triangulation where there are breaklines.

    Only the triangulation creases. Elsewhere kriging misses hidden ground least in the mean over surveys, and by less
    than a choice by the shots left out does: what they tell apart is mostly chance (tests/benchmarks). `chance` is that
    of a blunder, for each shot.

    Raises `InputError` for an unknown method, naming those there are.
    """
    check_method(method)
    tin = fit_triangulation(shots.places, shots.heights, shots.edges)
    likely = likely_ground(shots, chance)
    process = likely.likeliest
    blend = likely if shots.free <= _BLENDED else settled(process)
    chosen = METHODS[0] if method == "auto" and len(shots.edges) else method.replace("auto", "kriging")
    ground = FittedGround(shots, tin, process, likely, blend, chosen)
    # Only where the facets miss less is there a step that the processes do not know.
    if len(shots.edges) and chosen == METHODS[0] and ground.errors[chosen] < ground.errors["kriging"]:
        held = held_to(likely, ground.left_out[0])
        ground = replace(ground, likely=held, process=held.likeliest)
    return _through_every_shot(ground) if shots.thinned else ground


def _through_every_shot(ground: FittedGround) -> FittedGround:
    """The ground with surfaces through the shots themselves in place of their means by cells."""
    shots = ground.shots
    many = fit_many(shots, ground.process.seen.trend)
    edges = shots.edges + (len(many.places) - len(shots.places))
    return replace(ground, many=many, tin=fit_triangulation(many.places, many.heights, edges), coarse=ground.tin)


def check_method(method: str) -> None:
    """Raise `InputError` for a method that is not one of `METHODS` or "auto"."""
    if not isinstance(method, str) or method not in (*METHODS, "auto"):
        raise InputError("method", f'"{method}" is not a known method.', f"Accepted: auto, {', '.join(METHODS)}.")


def _errors(residuals: tuple[Array, ...]) -> dict[str, float]:
    """RMS of each method's residuals over the shots that every method could leave out; nan where none can be."""
    shared = np.isfinite(np.array(residuals)).all(axis=0)
    if not shared.any():
        shared = np.isfinite(residuals[-1])
    if not shared.any():
        return dict.fromkeys(METHODS, math.nan)
    return {
        name: float(np.sqrt(np.mean(rest[shared] ** 2))) if np.isfinite(rest[shared]).all() else math.nan
        for name, rest in zip(METHODS, residuals, strict=True)
    }


def heights_at(ground: FittedGround, places: Array) -> Array:
    """Height (m,) in metres above the frame's base by the chosen method, at (m, 2) places in the frame."""
    if ground.method == "triangulation":
        return carried_on(ground.tin, places)
    if ground.method == "kriging" and ground.many is not None:
        return _heights_of_thousands(ground, ground.many, places)
    if ground.method == "kriging" and _of_hundreds(ground):
        return heights_of_hundreds(ground.process, _spacing(ground), places)
    surface = _plate(ground) if ground.method == "thin_plate" else _process(ground)
    steps = FINE if len(ground.shots.places) <= _MANY_SHOTS else COARSE
    return np.asarray(evaluate(surface, ground.shots.places, _spacing(ground), places, steps)[0])


def elevation_and_deviation(ground: FittedGround, targets: Array) -> tuple[Array, Array]:
    """Elevation by the chosen method and the standard deviation of its error, metres, at (m, 2) targets.

    Targets are survey coordinates in metres. Where another surface than kriging is chosen, its distance from
    the kriged one counts as error too. On a breakline the facets err as its points and the bend between them do.
    """
    places = ground.shots.local(targets)
    kriged_heights, variance = _height_and_variance(ground, places)
    height = kriged_heights if ground.method == "kriging" else heights_at(ground, places)
    square = _widened(ground, places) ** 2 * np.maximum(variance, 0.0)
    if ground.likely.know_heights:
        square += (height - kriged_heights) ** 2
    if len(ground.shots.edges) and ground.method == METHODS[0]:
        share = nearness(ground.shots, places)
        near = share < 1.0
        square *= share**2
        square[near] += (1.0 - share[near]) * on_lines(ground.shots.lines, targets[near])
    return frozen(height + ground.shots.base), frozen(np.sqrt(square))


def _height_and_variance(ground: FittedGround, places: Array) -> tuple[Array, Array]:
    """Height of the blend, variance of the fitted process, metres and m2: at shots that is smooth, unlike its root."""
    if ground.many is not None:
        return _thousands(ground, ground.many, places)
    if _of_hundreds(ground):
        return kriged_from_hundreds(ground.process, _spacing(ground), places)
    alone = len(ground.blend.processes) == 1

    def both(at: Array) -> Array:
        height, deviation = kriged(ground.process, at)
        return np.array([height if alone else blended_height(ground.blend, at), deviation**2])

    height, variance = evaluate(both, ground.shots.places, _spacing(ground), places)
    return height, variance


def _thousands(ground: FittedGround, many: ManyShots, places: Array) -> tuple[Array, Array]:
    """The same from thousands of shots: on a lattice where there are far more places than shots."""
    if len(places) < _LATTICE_PAYS * len(many.places):
        return kriged_nearby(many, places)
    spread = evaluate(lambda at: kriged_nearby(many, at)[1][None], many.places[:0], _spacing(ground), places, COARSE)[0]
    return _heights_of_thousands(ground, many, places), spread


def _heights_of_thousands(ground: FittedGround, many: ManyShots, places: Array) -> Array:
    """Heights from thousands of shots; see `_thousands`."""
    if len(places) < _LATTICE_PAYS * len(many.places):
        return heights_nearby(many, places)
    return np.asarray(
        evaluate(lambda at: heights_nearby(many, at)[None], many.places, _spacing(ground), places, COARSE)[0]
    )


def _of_hundreds(ground: FittedGround) -> bool:
    """Whether the shots are so many that one process rules, and solving for all of them at each place is dear."""
    return len(ground.shots.places) > _MANY_SHOTS


def _widened(ground: FittedGround, places: Array) -> Array:
    """By how much the likeliest process's deviation falls short of what all leave open, (m,)."""
    if len(ground.likely.processes) == 1:
        return np.ones(len(places))

    def factor(at: Array) -> Array:
        return np.log(widening(ground.likely, at))[None]

    none = ground.shots.places[:0]
    return np.asarray(np.exp(evaluate(factor, none, _spacing(ground), places, COARSE / 2.0)[0]))


def _process(ground: FittedGround) -> Surface:
    """The kriged height as a surface of one value."""
    return lambda at: blended_height(ground.blend, at)[None]


def _plate(ground: FittedGround) -> Surface:
    """The plate's height as a surface of one value."""
    return lambda at: bent_plate(ground.plate, at)[None]


def _spacing(ground: FittedGround) -> float:
    """Mean distance between shots in frame units: the side of a square that holds one."""
    return float(np.sqrt(hull_area(ground.tin) / len(ground.tin.places)))
