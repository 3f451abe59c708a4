"""The unit and the upward axis of a scan that nothing else tells, by the size of a yard and by what gravity does to it.

Ground lies flat and things stand on it: along the upward axis half of all points lie in a thin layer.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from terrain.errors import InputError
from terrain.grid import Array
from terrain.survey.measured import ScanWay, unit_name

# Across a yard, metres; scans come in metres more often than in anything else: common practice, no published source.
_SMALLEST, _USUAL, _LARGEST = 4.0, 20.0, 250.0
_UNITS = (1.0, 0.3048, 0.0254, 0.01, 0.001)
_SURE = 1.5  # times as thin as along the other axis
_AXES = {"y": ((1, 0, 0), (0, 0, -1), (0, 1, 0)), "z": ((1, 0, 0), (0, 1, 0), (0, 0, 1))}
UP_AXES = tuple(_AXES)


@dataclass(frozen=True)
class FoundWay:
    """Metres in the file's unit, the (3, 3) turn that stands it upright, and what was found, in words."""

    unit: float
    turn: Array
    notes: tuple[str, ...]


def found_way(sample: Array, way: ScanWay, unit: float | None, up: str, label: str) -> FoundWay:
    """Settle unit and axis.

    Parameters
    ----------
    sample
        (n, 3) points of the scan in its own unit and axes.
    way
        What the site file states.
    unit, up
        What the file or its format says; None and "" where it does not.
    label
        Opens notes and refusals.

    Raises
    ------
    InputError
        Where nothing says which axis is upward or which unit makes a yard of it.
    """
    axis, notes = _axis(sample, way.up, up, label)
    turn = np.array(_AXES[axis], dtype=float)
    metres, said = _unit(sample @ turn.T, way.unit, unit, label)
    return FoundWay(metres, turn, (*notes, *said))


def _axis(sample: Array, stated: str, format_says: str, label: str) -> tuple[str, tuple[str, ...]]:
    if stated:
        return stated, ()
    thin = {axis: _thickness(sample[:, 1 if axis == "y" else 2]) for axis in UP_AXES}
    flat = min(thin, key=lambda axis: thin[axis])
    other = "z" if flat == "y" else "y"
    if thin[other] < _SURE * max(thin[flat], 1e-12):
        if not format_says:
            raise InputError(label, "nothing tells which of its axes is upward.", 'State it: up = "z" or up = "y".')
        return format_says, ()
    if format_says and format_says != flat:
        note = (
            f"{label}: by its format {format_says} is upward, but its ground lies flat across {flat}, which was taken"
        )
        return flat, (f'{note}; else state up = "{format_says}".',)
    return flat, (
        f'{label}: its ground lies flat across {flat}, which was taken as upward; else state up = "{other}".',
    )


def _thickness(heights: Array) -> float:
    """The thinnest layer that holds half of all points."""
    ordered = np.sort(heights)
    half = len(ordered) // 2
    return float((ordered[half:] - ordered[: len(ordered) - half]).min())


def _unit(upright: Array, stated: float, format_says: float | None, label: str) -> tuple[float, tuple[str, ...]]:
    across = float(np.ptp(np.percentile(upright[:, :2], [2, 98], axis=0), axis=0).max())
    if stated:
        return stated, ()
    if format_says is not None and _SMALLEST <= across * format_says <= _LARGEST:
        return format_says, ()
    there = [unit for unit in _UNITS if _SMALLEST <= across * unit <= _LARGEST]
    # Metres where they make a yard; else what makes one of a usual size.
    found = 1.0 if 1.0 in there else min(there, key=lambda unit: abs(math.log(across * unit / _USUAL)), default=0.0)
    if not found:
        problem = f"it is {across:.4g} across in a unit that it does not name, which makes no yard in any unit."
        raise InputError(label, problem, 'State its unit, such as unit = "m".')
    note = f"{label}: it is {across:.4g} across, which makes a yard in {unit_name(found)}; these were taken"
    return found, (f'{note}. Else state its unit, such as unit = "ft".',)
