"""The confusion table of the labelled shapes: what was labelled, and what `natural_look` called it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache

from labelled_shapes import SEEDS, Shape, in_yard, kinds, labelled

from terrain.look import Look, natural_look

SET, REPORT = tuple(s for s in SEEDS if s % 2 == 0), tuple(s for s in SEEDS if s % 2 == 1)


@dataclass(frozen=True)
class Row:
    """One kind: how many shapes, how many called unnatural, and of these with an accepted sign; counts by sign."""

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


def table(natural: bool, seeds: Iterable[int] = REPORT) -> tuple[Row, ...]:
    """One row a kind of that label."""
    return tuple(row(kind, tuple(seeds)) for kind in kinds(natural))


def as_markdown(seeds: Iterable[int] = REPORT) -> str:
    """The table for DEVELOPERS.md."""
    lines = [
        "| labelled | kind | shapes | called unnatural | right sign | signs present (shapes) |",
        "|---|---|--:|--:|--:|---|",
    ]
    for natural, label in ((False, "unnatural"), (True, "natural")):
        rows = table(natural, seeds)
        for r in rows:
            signs = ", ".join(f"{name} {count}" for name, count in r.signs.items()) or "-"
            right = "-" if natural else str(r.named)
            lines.append(f"| {label} | {r.kind} | {r.shapes} | {r.called} | {right} | {signs} |")
        shapes, called = sum(r.shapes for r in rows), sum(r.called for r in rows)
        right = "-" if natural else f"**{sum(r.named for r in rows)}**"
        lines.append(f"| {label} | **all** | **{shapes}** | **{called}** | {right} | {called / shapes:.1%} called |")
    return "\n".join(lines)


if __name__ == "__main__":
    print(as_markdown())
