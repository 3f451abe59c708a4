"""The confusion table of the labelled shapes: what was labelled, and what `natural_look` called it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from math import sqrt
from statistics import NormalDist

from labelled_shapes import ANEW, LABELS, SEEDS, Label, Shape, in_yard, kinds, labelled

from terrain.look import Look, natural_look

ANEW_SEEDS = range(24)
SET, REPORT = tuple(s for s in SEEDS if s % 2 == 0), tuple(s for s in SEEDS if s % 2 == 1)


@dataclass(frozen=True)
class Row:
    """One kind: how many shapes, how many called made, and how many with an accepted sign; counts by sign."""

    kind: str
    shapes: int
    called: int
    named: int
    signs: dict[str, int]


@cache
def look_at(kind: str, seed: int, cell_factor: float = 1.0) -> tuple[Shape, Look]:
    shape = labelled(kind, seed)
    yard = in_yard(shape, cell_factor=cell_factor)
    return shape, natural_look(yard.grid, yard.existing, yard.proposed, yard.outline)


def row(kind: str, seeds: Iterable[int]) -> Row:
    looks = [look_at(kind, seed) for seed in seeds]
    found = [(shape, {sign.sign for sign in look.signs if sign.present}) for shape, look in looks]
    signs = Counter(name for _, names in found for name in names)
    called = sum(not look.reads_natural for _, look in looks)
    named = sum(bool(names & shape.accepted) for shape, names in found)
    return Row(kind, len(looks), called, named, dict(sorted(signs.items(), key=lambda one: (-one[1], one[0]))))


def table(*labels: Label, seeds: Iterable[int] = REPORT) -> tuple[Row, ...]:
    """One row a kind of these labels."""
    return tuple(row(kind, tuple(seeds)) for kind in kinds(*labels))


def range_of(share: int, of: int) -> tuple[float, float]:
    """Wilson's central 95 % range of a share, 0 to 1: Wilson 1927, J. Amer. Stat. Assoc. 22, 209-212."""
    z2 = NormalDist().inv_cdf(0.975) ** 2
    middle, half = (share + z2 / 2) / (of + z2), sqrt(z2 * (share * (of - share) / of + z2 / 4)) / (of + z2)
    return middle - half, middle + half


def as_markdown(seeds: Iterable[int] = REPORT, labels: Iterable[Label] = LABELS) -> str:
    """The table for DEVELOPERS.md."""
    seeds = tuple(seeds)
    lines = [
        "| labelled | kind | shapes | called made | right sign | signs present (shapes) |",
        "|---|---|--:|--:|--:|---|",
    ]
    for label in labels:
        rows = table(label, seeds=seeds)
        for r in rows:
            signs = ", ".join(f"{name} {count}" for name, count in r.signs.items()) or "-"
            right = "-" if label.startswith("natural") else str(r.named)
            lines.append(f"| {label} | {r.kind} | {r.shapes} | {r.called} | {right} | {signs} |")
        shapes, called = sum(r.shapes for r in rows), sum(r.called for r in rows)
        right = "-" if label.startswith("natural") else f"**{sum(r.named for r in rows)}**"
        low, high = range_of(called, shapes)
        told = f"{called / shapes:.1%} called, 95 % range {low:.1%} to {high:.1%}"
        lines.append(f"| {label} | **all** | **{shapes}** | **{called}** | {right} | {told} |")
    return "\n".join(lines)


if __name__ == "__main__":
    print(as_markdown())
    print(as_markdown(ANEW_SEEDS, ANEW))
