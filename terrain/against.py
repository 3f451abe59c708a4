"""Two yards, or one yard planned twice, side by side: what differs in soil, height, trees and money, and why."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from terrain.flow import Study
from terrain.soil import bought_of, top_height


@dataclass(frozen=True)
class ComparedFigure:
    """One figure of both: of the other and of this one, SI units or money; None where one of them has it not."""

    what: str
    other: float | None
    this: float | None


@dataclass(frozen=True)
class Reason:
    """A part of the difference in the soil bought, loose m3: what it comes from."""

    why: str
    soil: float


@dataclass(frozen=True)
class Against:
    """What differs from another study.

    Parameters
    ----------
    soil
        Soil bought, loose m3, then what makes the difference: its parts add up to it.
    reasons
        Each group of figures changed in turn, from the other's to this one's.
    height
        Top of the finished mound over existing grade, metres.
    trees
        Of every tree: the share of its root zone that is covered, and the deepest fill in it, metres.
    money
        Every line of both bills, then the sum; in the user's money.
    prices
        Lines whose rate differs.
    """

    soil: ComparedFigure
    reasons: tuple[Reason, ...]
    height: ComparedFigure
    trees: tuple[ComparedFigure, ...]
    money: tuple[ComparedFigure, ...]
    prices: tuple[ComparedFigure, ...]


NOTHING = 1e-12  # m3: rounding in the arithmetic
# Groups of the figures that an order follows from, in the order in which they are changed.
MOUND = "the mound: what is filled, stripped and dug"
ON_HAND, CHANCE, SOLD = "the soil on hand", "the chance of having enough", "how soil is sold"
FACTORS = "the soil: its factors, and how sure they are"
_OF_MOUND = (
    *("fill_placed", "rise", "planting_layer", "sod_in_bed", "sod_on_digs", "topsoil_stripped", "cut_under_sod"),
    *("mulch_laid", "gravel_laid", "ground_deviation"),
)
_GROUPS: Mapping[str, str] = {
    **dict.fromkeys(_OF_MOUND, MOUND),
    **dict.fromkeys(("sold_in", "bag", "truck", "payload", "unit_weight", "least_load"), SOLD),
    "on_hand": ON_HAND,
    "chance": CHANCE,
}


def compared(this: Study, other: Study) -> Against:
    """What differs in one study from another, whose plan it is set against."""
    return Against(
        ComparedFigure("soil to order", other.order.quantity, this.order.quantity),
        tuple(_reasons(this.order.given, other.order.given)),
        ComparedFigure("top", top_height(other.proposal), top_height(this.proposal)),
        tuple(_trees(this, other)),
        tuple(_money(this, other)),
        tuple(pair for pair in _rates(this, other) if pair.this != pair.other),
    )


def _reasons(this: Mapping[str, float], other: Mapping[str, float]) -> Iterator[Reason]:
    """Each group changed in turn; a group that changes nothing is left out."""
    given, before = dict(other), bought_of(other)
    for why in (MOUND, FACTORS, ON_HAND, CHANCE, SOLD):
        changed = {name: this[name] for name in this if _group(name) == why}
        if all(given[name] == value for name, value in changed.items()):
            continue
        given |= changed
        after = bought_of(given)
        if abs(after - before) > NOTHING:
            yield Reason(why, after - before)
        before = after


def _group(name: str) -> str:
    return MOUND if name.startswith("toe_") else _GROUPS.get(name, FACTORS)


def _trees(this: Study, other: Study) -> Iterator[ComparedFigure]:
    known = {check.name: check for check in other.review.trees}
    for check in this.review.trees:
        twin = known.get(check.name)
        share = None if twin is None else twin.share_of_root_zone_covered
        yield ComparedFigure(
            f"{check.name}: share of its root protection zone covered", share, check.share_of_root_zone_covered
        )
        deep = None if twin is None else twin.deepest_fill_in_root_zone
        yield ComparedFigure(
            f"{check.name}: deepest fill in its root protection zone", deep, check.deepest_fill_in_root_zone
        )


def _money(this: Study, other: Study) -> Iterator[ComparedFigure]:
    ours, theirs = ({line.what: line.amount for line in study.order.costs} for study in (this, other))
    for what in dict.fromkeys((*theirs, *ours)):
        yield ComparedFigure(what, theirs.get(what), ours.get(what))
    if ours or theirs:
        yield ComparedFigure("total", other.order.cost, this.order.cost)


def _rates(this: Study, other: Study) -> Iterator[ComparedFigure]:
    ours, theirs = ({line.what: line.rate for line in study.order.costs} for study in (this, other))
    for what in (one for one in ours if one in theirs):
        yield ComparedFigure(what, theirs[what], ours[what])
