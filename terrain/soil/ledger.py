"""The ledger: every soil of the job, from where to where, in bank, loose and placed measure."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from terrain.numerics import Figure, Formula
from terrain.soil.model import Comes, Goes, LedgerLine

FILL_SOIL, PLANTING_SOIL, ON_HAND = "fill soil", "planting soil", "soil on hand"
# Less than this is rounding in the arithmetic and makes no line; m3, well under the 1e-9 to which the ledger closes.
NOTHING = 1e-12


@dataclass(frozen=True)
class Entry:
    """One line of the ledger before it has figures.

    `placed` is its formula in placed measure by the names of the chain; `own` is True for soil of the site, which has
    the ground's swell and shrink, and False for soil that comes from outside.
    """

    name: str
    comes: Comes
    goes: Goes
    placed: Formula
    own: bool = True


def _placed(bank: Callable[[Any], Figure]) -> Formula:
    return lambda v: bank(v) * (1 - v.ground_shrink)


def _heap_in_fill(v: Figure) -> Figure:
    return v.fill_missing - v.fill_short


def _heap_on_top(v: Figure) -> Figure:
    return v.planting_missing - v.planting_short


ENTRIES = (
    Entry("sod", "stripped", "leaves", _placed(lambda v: v.sod_away)),
    Entry("sod turned under", "stripped", "mound", lambda v: v.sod_in_fill),
    Entry("sod without room", "stripped", "leaves", lambda v: v.sod_placed - v.sod_in_fill),
    Entry("topsoil laid on top", "stripped", "planting", lambda v: v.topsoil_on_top),
    Entry("topsoil laid again", "stripped", "topsoil", lambda v: v.topsoil_below),
    Entry(
        "topsoil to spare",
        "stripped",
        "leaves",
        lambda v: v.topsoil_placed - v.topsoil_on_top - v.topsoil_below,
    ),
    Entry("cut used as fill", "dug", "mound", lambda v: v.cut_in_fill),
    Entry("cut unfit to use", "dug", "leaves", _placed(lambda v: v.cut_unfit)),
    Entry("cut to spare", "dug", "leaves", lambda v: v.usable_placed - v.cut_in_fill),
    Entry(ON_HAND, "on hand", "mound", lambda v: _heap_in_fill(v) / v.brought_per_placed, own=False),
    Entry(ON_HAND, "on hand", "planting", lambda v: _heap_on_top(v) / v.brought_per_placed, own=False),
    Entry(
        ON_HAND,
        "on hand",
        "lost",
        lambda v: (_heap_in_fill(v) + _heap_on_top(v)) * v.lost / v.loose_per_placed,
        own=False,
    ),
    Entry(
        ON_HAND,
        "on hand",
        "left over",
        lambda v: (v.on_hand - _heap_in_fill(v) - _heap_on_top(v)) / v.loose_per_placed,
        own=False,
    ),
    Entry(PLANTING_SOIL, "bought", "planting", lambda v: v.planting_short / v.brought_per_placed, own=False),
    Entry(PLANTING_SOIL, "bought", "lost", lambda v: v.planting_short * v.lost / v.loose_per_placed, own=False),
    Entry(FILL_SOIL, "bought", "mound", lambda v: v.fill_short / v.brought_per_placed, own=False),
    Entry(FILL_SOIL, "bought", "lost", lambda v: v.fill_short * v.lost / v.loose_per_placed, own=False),
)


def per_placed(entry: Entry, v: Figure) -> tuple[Figure, Figure]:
    """Bank and loose volume of one placed volume of an entry's soil."""
    bank = 1 / (1 - (v.ground_shrink if entry.own else v.shrink))
    return bank, bank * (1 + (v.ground_swell if entry.own else v.swell))


def ledger_of(v: Figure) -> tuple[LedgerLine, ...]:
    """The ledger of what is expected, from the worked chain; a soil of which there is none makes no line.

    Bought is what the mound is expected to take from a supplier; what is ordered beyond it, to be sure, the order says.
    """
    lines = []
    for entry in ENTRIES:
        placed, (bank, loose) = float(v.of(entry.placed)), v.of(lambda v, entry=entry: per_placed(entry, v))
        if placed > NOTHING:
            lines.append(
                LedgerLine(entry.name, entry.comes, entry.goes, float(placed * bank), float(placed * loose), placed)
            )
    return tuple(lines)


def sums(ledger: Sequence[LedgerLine]) -> tuple[Mapping[str, float], Mapping[str, float]]:
    """Placed m3 by where it comes from, and by where it goes: each adds up to the same."""
    comes: dict[str, float] = {}
    goes: dict[str, float] = {}
    for line in ledger:
        comes[line.comes] = comes.get(line.comes, 0.0) + line.placed
        goes[line.goes] = goes.get(line.goes, 0.0) + line.placed
    return comes, goes
