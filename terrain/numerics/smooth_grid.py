"""Many targets at the price of few: a smooth surface worked out on a coarse lattice and splined up."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from terrain.grid import Array, Mask
from terrain.numerics.even_spline import Bicubic, bicubic

# Lattice steps to one mean shot spacing. At 8 the splined height differs from the direct one by a few
# ten-thousandths of the relief. Coarse steps are for many shots, where each node costs more.
FINE, COARSE = 8.0, 4.0
_WORTH_IT = 2.0  # targets to one lattice node from which the lattice pays

Surface = Callable[[Array], Array]


def evaluate(surface: Surface, places: Array, spacing: float, targets: Array, steps: float = FINE) -> Array:
    """Values (k, m) of a smooth surface at (m, 2) targets.

    Parameters
    ----------
    surface
        Maps (m, 2) targets to (k, m) values; smooth between the shots.
    places
        (n, 2) shots, near which the surface is worked out directly, so that it stays exact there; none where
        that is not asked for.
    spacing
        Mean distance between shots, same unit as the targets.
    targets
        (m, 2).
    steps
        Lattice steps to one spacing.
    """
    axes = lattice_of(targets, spacing / steps)
    if axes is None:
        return surface(targets)
    values = splined(surface, axes).at(targets)
    near = _near_shots(axes, places, targets)
    if near.any():
        values[:, near] = surface(targets[near])
    return values


def lattice_of(targets: Array, step: float) -> tuple[Array, Array] | None:
    """Coordinates of lattice columns and rows that cover the targets, at least four each way; None: too few to pay."""
    # Column by column: numpy's own way along so short an axis takes ten times as long.
    low, high = (np.array([reduced(column) for column in targets.T]) for reduced in (np.min, np.max))
    count = np.maximum(np.ceil((high - low) / step).astype(int) + 1, 4)
    wide = np.maximum(high - low, step)
    if len(targets) < _WORTH_IT * count[0] * count[1]:
        return None
    return np.linspace(low[0], low[0] + wide[0], count[0]), np.linspace(low[1], low[1] + wide[1], count[1])


@dataclass(frozen=True)
class Splined:
    """A surface of k values read through bicubic splines, one a value, over columns and rows (`axes`) of a lattice."""

    axes: tuple[Array, Array]
    splines: tuple[Bicubic, ...]

    def at(self, targets: Array) -> Array:
        """Values (k, m) at (m, 2) targets."""
        rows = _rows_of_grid(targets)
        if rows is None:
            return np.array([spline.at(targets) for spline in self.splines])
        column, row = targets[: len(targets) // rows, 0], targets[:: len(targets) // rows, 1]
        return np.array([spline.on_grid(column, row).T.ravel() for spline in self.splines])

    def covers(self, places: Array) -> Mask:
        """(n,) whether (n, 2) places lie on the lattice."""
        column, row = self.axes
        east, north = places.T
        return np.asarray((east >= column[0]) & (east <= column[-1]) & (north >= row[0]) & (north <= row[-1]))


def splined(surface: Surface, axes: tuple[Array, Array]) -> Splined:
    """The surface read from its values on a lattice."""
    x, y = np.meshgrid(*axes, indexing="ij")
    on_lattice = surface(np.column_stack([x.ravel(), y.ravel()]))
    return Splined(axes, tuple(bicubic(*axes, values.reshape(x.shape)) for values in on_lattice))


def _rows_of_grid(targets: Array) -> int | None:
    """Number of rows where the targets are a grid's nodes row by row, south first; None where they are not.

    A spline is read far faster on a grid than at scattered points.
    """
    wide = int(np.argmax(targets[:, 1] != targets[0, 1])) or len(targets)
    if wide < 2 or len(targets) % wide:
        return None
    east, north = (targets[:, axis].reshape(-1, wide) for axis in (0, 1))
    same = (east == east[0]).all() and (north == north[:, :1]).all()
    rising = (np.diff(east[0]) > 0).all() and (np.diff(north[:, 0]) > 0).all()
    return len(north) if same and rising else None


def _near_shots(axes: tuple[Array, Array], places: Array, targets: Array) -> Mask:
    """True for targets in one of the four lattice cells about the lattice node nearest to a shot."""
    marked = np.zeros((len(axes[0]) + 1, len(axes[1]) + 1), dtype=bool)
    start = np.array([axis[0] for axis in axes])
    step = np.array([axis[1] - axis[0] for axis in axes])
    node = np.rint((places - start) / step).astype(int)
    inside = ((node >= 0) & (node < np.array(marked.shape) - 1)).all(axis=1)
    for across in (0, 1):
        for up in (0, 1):
            marked[node[inside, 0] + across, node[inside, 1] + up] = True
    cell = np.floor((targets - start) / step).astype(int) + 1
    cell = np.clip(cell, 0, np.array(marked.shape) - 1)
    return np.asarray(marked[cell[:, 0], cell[:, 1]])
