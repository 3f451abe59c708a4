"""The mound in squares that hold barrows: how many go into each, lift by lift; the one owner of these figures.

Squares lie along a baseline: letters along it, numbers away from it. In every square soil is stacked as it is built:
first what the yard itself gives (dug, on hand, sod turned under), then what is bought, in lifts of equal loose depth,
last what lies on top. The barrows of what is bought are those of the order, to the last one: whole barrows go to the
squares by largest remainder, and each square's to its lifts likewise.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from terrain.flow import Study
from terrain.grid import Array, Index
from terrain.limits import FOOT, INCH
from terrain.site import placed_to_loose
from terrain.soil import PLANTING_SOIL, LedgerLine, whole_loads
from terrain.survey import Place
from terrain.units import Units

# Loose depth of a lift, at most: 6 to 8 in loose, trodden once, for soil that is planted; common practice, no published
# source (tree soils are published with lifts of at most 12 in).
LIFT = 8.0 * INCH
# A barrow where the site file names none, filled level with the rim; common practice, no published source.
USUAL_BARROW: dict[Units, float] = {"ft": 3.0 * FOOT**3, "m": 0.08}
# Sides of squares that a tape steps off, about 4 ft or 1 m first.
SIDES: dict[Units, tuple[float, ...]] = {
    "ft": tuple(FOOT * side for side in (4, 5, 6, 8, 10, 12, 16, 20, 30, 40, 60, 100)),
    "m": (1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 15.0, 20.0, 30.0),
}
# What one sheet shows with figures of 14 points: squares along, squares away, and squares of all lifts together.
_BELOW, _ON_TOP = ("mound",), ("planting", "topsoil")  # where the ledger's soils go to
NOTHING = 1e-12  # m3
NOISE = 1e-9  # metres: what rounding leaves of a depth that is none
COLUMNS_MOST, ROWS_MOST, SQUARES_MOST = 18, 14, 470
_HEAD_ROWS, _HEAD_COLUMNS = 3, 10  # that the heading of a lift takes on paper, at least


@dataclass(frozen=True)
class SquaresFrame:
    """Where the squares lie: a place on the baseline and its direction, metres; what it runs between, "" for none."""

    origin: Place
    along: Place
    start: str = ""
    end: str = ""

    def seen(self, places: Array) -> Array:
        """(n, 2) places in metres as station along the baseline and offset to its left."""
        (east, north), away = self.along, np.asarray(places, dtype=float) - np.array(self.origin)
        turned: Array = np.column_stack([away @ np.array([east, north]), away @ np.array([-north, east])])
        return turned


@dataclass(frozen=True)
class Lift:
    """One lift: whose soil, its loose depth where it is whole (metres), and barrows by row and column.

    `comes` is "yard" for the soil of the site and "bought"; `name` is as in the ledger, `number` counts lifts upwards
    from 1.
    """

    number: int
    comes: str
    name: str
    depth: float
    barrows: tuple[tuple[int, ...], ...]

    @property
    def total(self) -> int:
        """Barrows of the whole lift."""
        return sum(map(sum, self.barrows))


@dataclass(frozen=True)
class BarrowSquares:
    """The squares: side in metres, station and offset of the corner of A1, barrow in loose m3 (`assumed` or stated).

    `barrows[r][c]` of a lift is the square of letter c along the baseline and number r away from it, to its left.
    """

    frame: SquaresFrame
    side: float
    station: float
    offset: float
    barrow: float
    assumed: bool
    columns: int
    rows: int
    lifts: tuple[Lift, ...]

    @property
    def bought(self) -> int:
        """Barrows of what is bought: those of the order."""
        return sum(lift.total for lift in self.lifts if lift.comes == "bought")

    @property
    def of_the_yard(self) -> int:
        """Barrows of soil that the yard itself gives."""
        return sum(lift.total for lift in self.lifts if lift.comes == "yard")


@dataclass(frozen=True)
class _Stack:
    """One soil of the stack: whole barrows, and the depth (n,) in placed metres that it takes over each node."""

    comes: str
    name: str
    barrows: int
    depth: Array


def share_out(barrows: int, parts: Array) -> Index:
    """Whole barrows in proportion to some parts, by largest remainder: they sum to `barrows` exactly.

    Of equal remainders the first part is served first. Nothing goes to a part of nothing.
    """
    whole = float(parts.sum())
    if barrows <= 0 or whole <= 0.0:
        return np.zeros(len(parts), dtype=np.int64)
    exact = barrows * parts / whole
    shared: Index = np.floor(exact).astype(np.int64)
    order = np.argsort(-(exact - shared), kind="stable")
    shared[order[: barrows - int(shared.sum())]] += 1
    return shared


def squares_of(study: Study, frame: SquaresFrame) -> BarrowSquares:
    """Share the soil of a mound out to squares along a baseline, lift by lift.

    Squares are the smallest of `SIDES` that one sheet shows. A yard with no soil to place has no lifts.
    """
    seen, depth = _depths(study, frame)
    stacks = list(_stacks(study, depth))
    fitted = (_at_side(study, frame, side, seen, stacks) for side in SIDES[study.site.units])
    last = None
    for last in fitted:
        if last.columns <= COLUMNS_MOST and last.rows <= ROWS_MOST and _shown(last) <= SQUARES_MOST:
            break
    assert last is not None
    return last


def barrow_of(study: Study) -> float:
    """Loose m3 of one barrow: as stated, else the usual one."""
    return study.site.soil.barrow or USUAL_BARROW[study.site.units]


def _depths(study: Study, frame: SquaresFrame) -> tuple[Array, Array]:
    """Station and offset (n, 2) of the nodes that take soil, and the soil there on day one over stripped ground (n,).

    Depth in placed metres.
    """
    proposal, bed = study.proposal, study.site.bed
    raised = study.work.day_one_factor * proposal.fill - proposal.cut + bed.sod + bed.topsoil
    depth = np.where(proposal.bed, np.maximum(raised, 0.0), 0.0).ravel()
    there = np.nonzero(depth > 0.0)[0]
    return frame.seen(proposal.grid.nodes[there]), depth[there]


def _stacks(study: Study, depth: Array) -> Iterator[_Stack]:
    """The soils from the ground up: the yard's own, what is bought as fill, what lies on top."""
    ledger = study.order.ledger
    own, top = _of_the_yard(ledger, _BELOW), [line for line in ledger if line.goes in _ON_TOP]
    rest = [line for line in ledger if line.goes in (*_BELOW, *_ON_TOP) and line not in own]
    under = _filled_to(depth, _placed(own) / max(_placed([*own, *rest]), NOTHING))
    over = _filled_to(depth - under, _placed(top) / max(_placed(rest), NOTHING))
    between = np.where(depth - under - over > NOISE, depth - under - over, 0.0)
    yield from _own_stack(study, _BELOW, under)
    for item in reversed(study.order.soils):  # fill soil first, planting soil on top of it
        layer = over if item.name == PLANTING_SOIL else between
        yield _Stack("bought", item.name, whole_loads(item.quantity, barrow_of(study)), layer if layer.any() else depth)
    yield from _own_stack(study, _ON_TOP, over)


def _own_stack(study: Study, goes: tuple[str, ...], depth: Array) -> Iterator[_Stack]:
    """The yard's own soil for one part of the mound; nothing where it gives none."""
    lines = _of_the_yard(study.order.ledger, goes)
    if lines:
        barrows = whole_loads(sum(line.loose for line in lines), barrow_of(study))
        yield _Stack("yard", ", ".join(dict.fromkeys(line.name for line in lines)), barrows, depth)


def _of_the_yard(ledger: Sequence[LedgerLine], goes: tuple[str, ...]) -> list[LedgerLine]:
    return [line for line in ledger if line.goes in goes and line.comes != "bought"]


def _placed(lines: Sequence[LedgerLine]) -> float:
    return sum(line.placed for line in lines)


def _filled_to(depth: Array, share: float) -> Array:
    """What lies in the lowest part of every depth where that part holds a share of the whole, level by level."""
    if share <= 0.0 or not depth.any():
        return np.zeros_like(depth)
    low, high = 0.0, float(depth.max())
    for _ in range(60):
        middle = 0.5 * (low + high)
        held = float(np.minimum(depth, middle).sum())
        low, high = (middle, high) if held < share * float(depth.sum()) else (low, middle)
    return np.minimum(depth, high)


def _at_side(study: Study, frame: SquaresFrame, side: float, seen: Array, stacks: Sequence[_Stack]) -> BarrowSquares:
    """The squares of one side, whatever they come to."""
    first = np.floor(seen.min(axis=0) / side) if len(seen) else np.zeros(2)
    cells = (np.floor(seen / side) - first).astype(np.int64) if len(seen) else np.zeros((0, 2), dtype=np.int64)
    columns, rows = (int(count) + 1 for count in cells.max(axis=0)) if len(seen) else (0, 0)
    at = cells[:, 1] * columns + cells[:, 0]
    loose = placed_to_loose(1.0, study.site.soil)
    lifts: list[Lift] = []
    for stack in stacks:
        for depth, counts in _lifts(stack, at, rows * columns, loose):
            table = tuple(tuple(int(n) for n in row) for row in counts.reshape(rows, columns))
            lifts.append(Lift(len(lifts) + 1, stack.comes, stack.name, depth, table))
    barrow = study.site.soil.barrow
    station, offset = (float(value) for value in first * side)
    return BarrowSquares(frame, side, station, offset, barrow_of(study), barrow is None, columns, rows, tuple(lifts))


def _lifts(stack: _Stack, at: Index, squares: int, loose: float) -> Iterator[tuple[float, Index]]:
    """Loose depth and barrows by square of each lift of one soil, from the bottom up."""
    deepest = float(stack.depth.max()) * loose if len(stack.depth) else 0.0
    many = max(1, math.ceil(deepest / LIFT - 1e-9))
    thick = deepest / many / loose
    slabs = [np.clip(stack.depth - k * thick, 0.0, thick) for k in range(many)]
    parts = np.array([np.bincount(at, weights=slab, minlength=squares) for slab in slabs])
    totals = share_out(stack.barrows, parts.sum(axis=0))
    shared = np.array([share_out(int(total), parts[:, k]) for k, total in enumerate(totals)]).reshape(squares, many)
    for k in range(many):
        if shared[:, k].any():
            yield deepest / many, shared[:, k]


def _shown(squares: BarrowSquares) -> int:
    """Squares of paper that the tables of all lifts take: each from its first used row and column to its last."""
    total = 0
    for number, lift in enumerate(squares.lifts):
        used = np.argwhere(np.array(lift.barrows) > 0)
        rows, columns = used.max(axis=0) - used.min(axis=0) + 1
        if number == 0:  # shown whole, over the plan
            rows, columns = squares.rows, squares.columns
        total += (int(rows) + _HEAD_ROWS) * max(int(columns) + 1, _HEAD_COLUMNS)
    return total
