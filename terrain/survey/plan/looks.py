"""What lies on each layer of a plan, in words, and which of it could be of use."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import filterfalse
from typing import Any

import numpy as np

from terrain.survey.plan.drawn import DrawnLine, DrawnPlan, DrawnSymbol
from terrain.survey.plan.name_words import BOUNDARY, BUILDING, EXISTING, OUTLINE, PROPOSED, TREES, UNUSED
from terrain.survey.plan.spot_labels import spot_label
from terrain.survey.plan.tree_symbols import is_tree_symbol
from terrain.units import Units, show_length

LEVEL = 1e-6  # metres between the corners of a level line
TAKES = {
    EXISTING: "existing grade",
    PROPOSED: "proposed grade",
    OUTLINE: "the outline of the work",
    TREES: "trees",
    BUILDING: "buildings",
    BOUNDARY: "the lot line",
    UNUSED: "nothing, as asked",
    "": "nothing",
}


@dataclass(frozen=True)
class LayerLook:
    """A layer: what lies on it in words, which of that is of use, and what it is taken for ("": nothing).

    `heights` says whether it could carry grades, `rings` whether it has closed lines, `trees` whether its symbols,
    circles or labels could be trees.
    """

    layer: str
    words: str
    heights: bool
    rings: bool
    trees: bool
    use: str = ""

    @property
    def said(self) -> str:
        """ "C-TOPO: 41 level lines, 98.00 ft to 104.50 ft; taken for existing grade"."""
        return f"{self.layer}: {self.words}; taken for {TAKES[self.use]}"


def looks_of(plan: DrawnPlan, units: Units) -> tuple[LayerLook, ...]:
    """What lies on each layer of a plan in metres."""
    on: dict[str, dict[str, list[Any]]] = {layer: defaultdict(list) for layer in plan.layers}
    for kind in ("lines", "circles", "symbols", "labels", "points", "faces"):
        for one in getattr(plan, kind):
            on[one.layer][kind].append(one)
    return tuple(_look(layer, parts, units) for layer, parts in on.items())


def _look(layer: str, on: Mapping[str, list[Any]], units: Units) -> LayerLook:
    trees = list(filter(is_tree_symbol, on["symbols"]))
    others = list(filterfalse(is_tree_symbol, on["symbols"]))
    spots = sum(spot_label(one.text) is not None for one in on["labels"])
    words = [
        *_line_words(on["lines"], units),
        *_counted(len(on["faces"]), "face of a surface", "faces of a surface"),
        *_counted(len(on["points"]), "point", "points"),
        *_counted(len(trees), "tree symbol", "tree symbols"),
        *_symbol_words(others),
        *_counted(len(on["circles"]), "circle", "circles"),
        *_counted(spots, "figure such as a spot elevation", "figures such as spot elevations"),
        *_counted(len(on["labels"]) - spots, "text", "texts"),
    ]
    return LayerLook(
        layer,
        ", ".join(words),
        heights=bool(on["faces"] or on["points"] or spots or _raised(on)),
        rings=any(line.closed for line in on["lines"]),
        trees=bool(on["symbols"] or on["circles"]),
    )


def _raised(on: Mapping[str, list[Any]]) -> bool:
    """Whether lines leave elevation 0, or symbols carry elevations."""
    lines = any(np.any(line.points[:, 2] != 0.0) for line in on["lines"])
    return lines or any("elev" in " ".join(one.written).lower() for one in on["symbols"])


def _counted(count: int, one: str, many: str) -> Iterator[str]:
    if count:
        yield f"{count:,} {one if count == 1 else many}"


def _symbol_words(symbols: Sequence[DrawnSymbol]) -> Iterator[str]:
    """Symbols that are no trees, by the names of their blocks and the tags of their attributes."""
    if not symbols:
        return
    blocks = sorted({one.block for one in symbols})
    tags = sorted({tag for one in symbols for tag in one.written})
    said = f" with {', '.join(tags[:6])}" if tags else ""
    yield f"{len(symbols):,} symbol{'s' if len(symbols) > 1 else ''} {', '.join(blocks[:4])}{said}"


def _line_words(lines: Sequence[DrawnLine], units: Units) -> Iterator[str]:
    """Lines by how they lie: level at an elevation, rising, or flat at elevation 0, closed or not."""
    level = [line for line in lines if np.ptp(line.points[:, 2]) <= LEVEL]
    flat = [line for line in level if line.points[0, 2] == 0.0]
    closed = sum(line.closed for line in flat)
    yield from _level_words(sorted({float(line.points[0, 2]) for line in level} - {0.0}), len(level) - len(flat), units)
    yield from _counted(len(lines) - len(level), "line that rises", "lines that rise")
    yield from _counted(closed, "outline at elevation 0", "outlines at elevation 0")
    yield from _counted(len(flat) - closed, "line at elevation 0", "lines at elevation 0")


def _level_words(levels: Sequence[float], count: int, units: Units) -> Iterator[str]:
    """ "41 level lines, 98.00 ft to 104.50 ft"."""
    ends = [show_length(end, units, "elevation") for end in dict.fromkeys([*levels[:1], *levels[-1:]])]
    for counted in _counted(count, "level line", "level lines"):
        yield f"{counted}, {' to '.join(ends)}"
