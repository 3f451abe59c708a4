"""A plan as it is drawn, by layer: what somebody else's drawing holds before anybody says what it means."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

from terrain.grid import Array
from terrain.survey.readers.apart import PLAN, read_parts_apart

Spot = tuple[float, float, float]


@dataclass(frozen=True)
class DrawnLine:
    """A line or curve: (n, 3) corners, the first again at the end where it is closed."""

    layer: str
    points: Array

    @property
    def closed(self) -> bool:
        """Whether it ends where it begins, in plan."""
        return len(self.points) > 3 and bool(np.array_equal(self.points[0, :2], self.points[-1, :2]))


@dataclass(frozen=True)
class DrawnCircle:
    """A circle in plan."""

    layer: str
    at: Spot
    radius: float


@dataclass(frozen=True)
class DrawnSymbol:
    """A block put in one place: its name, its scale, and what its attributes say by their tags."""

    layer: str
    block: str
    at: Spot
    size: float
    written: Mapping[str, str]


@dataclass(frozen=True)
class DrawnLabel:
    """A text: where it begins and how high its letters are."""

    layer: str
    text: str
    at: Spot
    height: float


@dataclass(frozen=True)
class DrawnPoint:
    """A point."""

    layer: str
    at: Spot


@dataclass(frozen=True)
class DrawnFace:
    """A triangle: (3, 3) corners."""

    layer: str
    points: Array


@dataclass(frozen=True)
class DrawnPlan:
    """A plan.

    Parameters
    ----------
    label
        Its name in messages.
    unit
        Metres in one drawing unit, as the file names it; None where it does not.
    lines, circles, symbols, labels, points, faces
        What is drawn, coordinates in drawing units (`in_metres` turns them).
    unread
        How many other things it draws, by the format's name for them.
    """

    label: str
    unit: float | None
    lines: tuple[DrawnLine, ...]
    circles: tuple[DrawnCircle, ...]
    symbols: tuple[DrawnSymbol, ...]
    labels: tuple[DrawnLabel, ...]
    points: tuple[DrawnPoint, ...]
    faces: tuple[DrawnFace, ...]
    unread: Mapping[str, int]

    @property
    def layers(self) -> tuple[str, ...]:
        """Every layer on which something lies, sorted."""
        parts = (self.lines, self.circles, self.symbols, self.labels, self.points, self.faces)
        return tuple(sorted({one.layer for kind in parts for one in kind}))


def read_plan(path: Path, label: str) -> DrawnPlan:
    """Read a plan (DXF) in the bounded process that reads foreign files.

    Raises
    ------
    InputError
        As `terrain.survey.readers.plan.read`; where the process was lost, ran out of time or of memory.
    """
    parts = read_parts_apart(PLAN, path, label)
    return DrawnPlan(
        label,
        parts["unit"],
        tuple(DrawnLine(layer, _ringed(points, closed)) for layer, closed, points in parts["lines"]),
        tuple(DrawnCircle(layer, _spot(at), radius) for layer, at, radius in parts["circles"]),
        tuple(
            DrawnSymbol(layer, block, _spot(at), size, written) for layer, block, at, size, written in parts["symbols"]
        ),
        tuple(DrawnLabel(layer, text, _spot(at), height) for layer, text, at, height in parts["labels"]),
        tuple(DrawnPoint(layer, _spot(at)) for layer, at in parts["points"]),
        tuple(DrawnFace(layer, np.array(points, dtype=float)) for layer, points in parts["faces"]),
        parts["unread"],
    )


def _ringed(points: Any, closed: bool) -> Array:
    """Corners of a line, the first again at the end where the format closes it."""
    corners = np.array(points, dtype=float).reshape(-1, 3)
    if closed and len(corners) > 2 and not np.array_equal(corners[0], corners[-1]):
        return np.vstack([corners, corners[:1]])
    return corners


def _spot(at: Any) -> Spot:
    return float(at[0]), float(at[1]), float(at[2])


def in_metres(plan: DrawnPlan, unit: float) -> DrawnPlan:
    """The plan with its coordinates, radii and heights of letters in metres; `unit` is one of its units in metres."""

    def scaled(at: Spot) -> Spot:
        return at[0] * unit, at[1] * unit, at[2] * unit

    return replace(
        plan,
        lines=tuple(replace(one, points=one.points * unit) for one in plan.lines),
        circles=tuple(replace(one, at=scaled(one.at), radius=one.radius * unit) for one in plan.circles),
        symbols=tuple(replace(one, at=scaled(one.at)) for one in plan.symbols),
        labels=tuple(replace(one, at=scaled(one.at), height=one.height * unit) for one in plan.labels),
        points=tuple(replace(one, at=scaled(one.at)) for one in plan.points),
        faces=tuple(replace(one, points=one.points * unit) for one in plan.faces),
    )
