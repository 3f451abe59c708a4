"""Labelled mounds, seeded: what a designer calls unnatural, and what reads natural. Labelled before any is measured.

Every shape is a function of place, so that it can be built again on another cell, turned, shifted or in other units.
Even seeds set the bounds of `terrain.look`, odd seeds report (`look_confusion`).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cache
from typing import Literal
from zlib import crc32

import numpy as np
import shapely.affinity
from look_outlines import Array, half_width
from shapely.geometry import Polygon

from terrain.grid import Grid

SEEDS = range(40)


@dataclass(frozen=True)
class Form:
    """Height of fill in metres as a function of local place in metres, and the outline it stands in."""

    height: Callable[[Array, Array], Array]
    outline: Polygon


@dataclass(frozen=True)
class Shape:
    """A form set in a yard: turned by `turn` (radians) on ground that falls by `fall` (rise/run east, north).

    `accepted` names the signs of which at least one must be present; empty for a natural shape.
    """

    kind: str
    seed: int
    accepted: frozenset[str]
    form: Form
    turn: float
    fall: tuple[float, float]
    cell: float

    @property
    def natural(self) -> bool:
        return not self.accepted


@dataclass(frozen=True)
class Yard:
    """The four things that `natural_look` takes."""

    grid: Grid
    existing: Array
    proposed: Array
    outline: Polygon


def in_yard(
    shape: Shape,
    *,
    cell_factor: float = 1.0,
    turn: float = 0.0,
    shift: tuple[float, float] = (0.0, 0.0),
    unit: float = 1.0,
) -> Yard:
    """The shape on a grid. `unit` multiplies every length, as if feet had been read as metres."""
    angle = shape.turn + turn
    outline = shapely.affinity.rotate(shape.form.outline, angle, origin=(0, 0), use_radians=True)
    cell = shape.cell * cell_factor
    margin = 0.35 * half_width(outline)
    west, south, east, north = outline.bounds
    nx, ny = (int(np.ceil((b - a + 2 * margin) / cell)) + 1 for a, b in ((west, east), (south, north)))
    x, y = np.meshgrid(west - margin + cell * np.arange(nx), south - margin + cell * np.arange(ny))
    c, s = np.cos(angle), np.sin(angle)
    fill = np.maximum(shape.form.height(c * x + s * y, c * y - s * x), 0.0)
    fall = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]]) @ shape.fall
    existing = 30.0 + fall[0] * x + fall[1] * y
    grid = Grid(float(x[0, 0]) * unit + shift[0], float(y[0, 0]) * unit + shift[1], cell * unit, nx, ny)
    moved = shapely.affinity.translate(shapely.affinity.scale(outline, unit, unit, origin=(0, 0)), *shift)
    return Yard(grid, existing * unit, (existing + fill) * unit, moved)


def generator(kind: str, seed: int) -> np.random.Generator:
    """A generator of its own for each kind and seed, so that adding a kind changes no other."""
    return np.random.default_rng([crc32(kind.encode()), seed])


@cache
def labelled(kind: str, seed: int) -> Shape:
    """The shape of that kind and seed."""
    rng = generator(kind, seed)
    maker, accepted = next(kinds[kind] for kinds in _labels().values() if kind in kinds)
    form = maker(rng, seed)
    steep = rng.uniform(0.0, 0.06) * (rng.random() < 0.7)
    way = rng.uniform(0.0, 2.0 * np.pi)
    return Shape(
        kind=kind,
        seed=seed,
        accepted=accepted,
        form=form,
        turn=rng.uniform(0.0, 2.0 * np.pi),
        fall=(steep * np.cos(way), steep * np.sin(way)),
        cell=half_width(form.outline) / rng.uniform(22.0, 36.0),
    )


Label = Literal["perfect", "broken", "natural", "made anew", "natural anew"]
LABELS: tuple[Label, ...] = ("perfect", "broken", "natural")
# By generators of another design, which set no bound: they only report, all of them.
ANEW: tuple[Label, ...] = ("made anew", "natural anew")


def _labels() -> dict[Label, Mapping[str, tuple[Callable[..., Form], frozenset[str]]]]:
    from broken_shapes import BROKEN
    from fresh_shapes import MADE_ANEW, NATURAL_ANEW
    from natural_hills import HILLS
    from natural_shapes import NATURAL
    from unnatural_shapes import UNNATURAL

    natural = {kind: (maker, frozenset[str]()) for kind, maker in (NATURAL | HILLS).items()}
    anew: dict[Label, Mapping[str, tuple[Callable[..., Form], frozenset[str]]]] = {
        "made anew": MADE_ANEW,
        "natural anew": NATURAL_ANEW,
    }
    return {"perfect": UNNATURAL, "broken": BROKEN, "natural": natural, **anew}


def kinds(*labels: Label) -> tuple[str, ...]:
    """Names of the kinds with these labels; those of LABELS where none is given."""
    return tuple(kind for label, kinds in _labels().items() if label in (labels or LABELS) for kind in kinds)
