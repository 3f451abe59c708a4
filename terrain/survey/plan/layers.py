"""What each layer of a plan looks like, and what it is taken for: by its name, or as somebody says."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from typing import Any

import numpy as np

from terrain.errors import InputError, InputErrors
from terrain.survey.plan.drawn import DrawnLine, DrawnPlan, DrawnSymbol
from terrain.survey.plan.name_words import (
    BOUNDARY,
    BUILDING,
    EXISTING,
    GRADES,
    OUTLINE,
    PROPOSED,
    TREES,
    UNUSED,
    USES,
    grade_of,
    thing_of,
)
from terrain.survey.plan.spot_labels import spot_label
from terrain.survey.plan.tree_symbols import is_tree_symbol
from terrain.units import Units, show_length

LEVEL = 1e-6  # metres between the corners of a level line
_MOST_LAYERS = 16  # that a refusal lists
_TAKES = {
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
        return f"{self.layer}: {self.words}; taken for {_TAKES[self.use]}"


@dataclass(frozen=True)
class PlanUses:
    """The layers of a plan with what each is taken for, in the order of their names."""

    looks: tuple[LayerLook, ...]

    def layers(self, use: str) -> tuple[str, ...]:
        """The layers taken for a use."""
        return tuple(look.layer for look in self.looks if look.use == use)

    @property
    def unused(self) -> tuple[LayerLook, ...]:
        """Those taken for nothing."""
        return tuple(look for look in self.looks if look.use in ("", UNUSED))


def parse_layers(asked: Sequence[str]) -> Mapping[str, tuple[str, ...]]:
    """Layers by use, from texts such as "trees=TREE_EX" or "existing=CONT-1,CONT-2".

    Raises `InputError` for a text of another form and for an unknown use.
    """
    found: dict[str, tuple[str, ...]] = {}
    for text in asked:
        use, equals, names = text.partition("=")
        use = use.strip().lower()
        layers = tuple(name.strip() for name in names.split(",") if name.strip())
        if not equals or use not in USES or not layers:
            raise InputError(
                f'--layer "{text}"',
                "this is no use and its layers.",
                f"Accepted: USE=LAYER[,LAYER], such as trees=TREE_EX; uses are {', '.join(USES)}.",
            )
        found[use] = (*found.get(use, ()), *layers)
    return found


def uses_of(plan: DrawnPlan, asked: Mapping[str, tuple[str, ...]], units: Units) -> PlanUses:
    """What every layer is taken for: as asked, else by its name where what lies on it fits.

    Raises `InputError` for a layer that is asked for and has nothing on it, or that is asked for twice.
    """
    known = {layer.casefold(): layer for layer in plan.layers}
    stated: dict[str, str] = {}
    for use, names in asked.items():
        for name in names:
            layer = known.get(name.casefold())
            if layer is None:
                raise _no_layer(plan, f"--layer {use}={name}", name, known)
            if stated.setdefault(layer, use) != use:
                problem = f"the layer is asked for as {stated[layer]} too."
                raise InputError(f"--layer {use}={name}", problem, "Keep one of the two.")
    return PlanUses(tuple(_taken(look, stated, asked) for look in looks_of(plan, units)))


def _no_layer(plan: DrawnPlan, where: str, name: str, known: Mapping[str, str]) -> InputError:
    near = get_close_matches(name.casefold(), known, n=1)
    hint = f' Did you mean "{known[near[0]]}"?' if near else ""
    layers = ", ".join(plan.layers[:_MOST_LAYERS]) or "none"
    return InputError(where, f'nothing is drawn on a layer "{name}" of {plan.label}.{hint}', f"Its layers: {layers}.")


def _taken(look: LayerLook, stated: Mapping[str, str], asked: Mapping[str, tuple[str, ...]]) -> LayerLook:
    """The layer with its use: the stated one, or what its name says unless other layers were named for that use."""
    use = stated.get(look.layer) or _by_name(look)
    if look.layer not in stated and use in asked:
        use = ""
    return LayerLook(look.layer, look.words, look.heights, look.rings, look.trees, use)


def _by_name(look: LayerLook) -> str:
    thing = thing_of(look.layer)
    if thing == TREES:
        return TREES if look.trees else ""
    if thing:
        return thing if look.rings else ""
    return grade_of(look.layer) if look.heights else TREES if look.trees and "tree symbol" in look.words else ""


def looks_of(plan: DrawnPlan, units: Units) -> tuple[LayerLook, ...]:
    """What lies on each layer of a plan in metres."""
    on: dict[str, dict[str, list[Any]]] = {layer: defaultdict(list) for layer in plan.layers}
    for kind in ("lines", "circles", "symbols", "labels", "points", "faces"):
        for one in getattr(plan, kind):
            on[one.layer][kind].append(one)
    return tuple(_look(layer, parts, units) for layer, parts in on.items())


def _look(layer: str, on: Mapping[str, list[Any]], units: Units) -> LayerLook:
    lines, symbols, labels, circles, points = (on[kind] for kind in ("lines", "symbols", "labels", "circles", "points"))
    trees = [one for one in symbols if is_tree_symbol(one)]
    spots = [one for one in labels if spot_label(one.text)]
    faces = len(on["faces"])
    words = [
        *_line_words(lines, units),
        *_counted(faces, "face of a surface", "faces of a surface"),
        *_counted(len(points), "point", "points"),
        *_counted(len(trees), "tree symbol", "tree symbols"),
        *_symbol_words([one for one in symbols if not is_tree_symbol(one)]),
        *_counted(len(circles), "circle", "circles"),
        *_counted(len(spots), "figure such as a spot elevation", "figures such as spot elevations"),
        *_counted(len(labels) - len(spots), "text", "texts"),
    ]
    raised = any(np.any(line.points[:, 2] != 0.0) for line in lines)
    return LayerLook(
        layer,
        ", ".join(words),
        heights=bool(raised or faces or points or spots or any("elev" in " ".join(s.written).lower() for s in symbols)),
        rings=any(line.closed and len(line.points) > 2 for line in lines),
        trees=bool(trees or circles or symbols),
    )


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
    raised = sorted(float(line.points[0, 2]) for line in level if line.points[0, 2] != 0.0)
    flat = [line for line in level if line.points[0, 2] == 0.0]
    if raised:
        ends = (show_length(end, units, "elevation") for end in (raised[0], raised[-1]))
        yield f"{len(raised):,} level line{'s' if len(raised) > 1 else ''}, {' to '.join(dict.fromkeys(ends))}"
    yield from _counted(len(lines) - len(level), "line that rises", "lines that rise")
    yield from _counted(sum(line.closed for line in flat), "outline at elevation 0", "outlines at elevation 0")
    yield from _counted(sum(not line.closed for line in flat), "line at elevation 0", "lines at elevation 0")


def not_clear(plan: DrawnPlan, uses: PlanUses, problem: str, accepted: str) -> InputErrors:
    """A refusal that says what every layer looks like and what it was taken for, one a line."""
    told = [InputError(plan.label, problem, accepted)]
    shown = sorted(uses.looks, key=lambda look: (look.use in ("", UNUSED), not (look.heights or look.trees)))
    told += [
        InputError(f"{plan.label} layer {look.layer}", f"{look.words}; taken for {_TAKES[look.use]}.") for look in shown
    ]
    return InputErrors(told)


def check_grades(plan: DrawnPlan, uses: PlanUses) -> None:
    """Refuse a plan whose layers do not say which carry existing and which proposed grade."""
    lacking = [grade for grade in GRADES if not uses.layers(grade)]
    if not lacking:
        return
    what = " and ".join(f"{grade} grade" for grade in lacking)
    could = [look.layer for look in uses.looks if look.heights and not look.use]
    hint = f" Layers with elevations: {', '.join(could[:_MOST_LAYERS])}." if could else ""
    raise not_clear(
        plan,
        uses,
        f"no layer says that it carries {what}.{hint}",
        "Name them: " + " ".join(f"--layer {grade}=NAME" for grade in lacking) + ".",
    )
