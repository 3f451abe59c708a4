"""Trees as a plan draws them: symbols with attributes, circles with a label beside them."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from terrain.errors import InputError
from terrain.limits import ENTRIES_MOST
from terrain.survey.plan.drawn import DrawnCircle, DrawnLabel, DrawnPlan, DrawnSymbol, Spot
from terrain.survey.plan.name_words import TREES, thing_of
from terrain.survey.plan.trunk_words import is_bare, trunk_in, unit_of_trunks, without_trunk, written_length
from terrain.units import Units

# What the tags of attributes mean; the first meaning that fits stands, so that "crown dia" is no trunk.
_TAGS: Mapping[str, tuple[str, ...]] = {
    "dripline": ("dripline", "canopy", "crown", "spread", "krone", "kronendurchmesser", "houppier", "copa"),
    "girth": ("girth", "circumference", "gbh", "stammumfang", "umfang", "circonference", "perimetro"),
    "keep_off": ("tpz", "rpz", "crz", "keep off", "root zone", "protection"),
    "trunk": ("dbh", "trunk", "dia", "diam", "diameter", "caliper", "cal", "stammdurchmesser", "diametro", "diametre"),
    "species": ("species", "botanical", "common", "kind", "type", "art", "baumart", "espece", "especie"),
    "name": ("name", "tag", "id", "no", "nr", "num", "number", "tree no", "tree id", "label"),
}
_TRUNKS = ("trunk", "trunks", "stem", "stems")
_LEAST_CROWN = 0.5  # metres: circles of less are no edge of a crown
_TOGETHER = 0.3  # metres: symbols and circles nearer than this are one tree
_NEAR_LABEL = 4.0  # heights of its letters from the tree that a label names


@dataclass(frozen=True)
class PlanTree:
    """A tree of a plan; lengths in metres, None where the plan does not say them.

    `dripline` and `keep_off` are radii. `where` is what messages call it.
    """

    name: str
    at: tuple[float, float]
    trunk: float | None
    girth: float | None
    dripline: float | None
    keep_off: float | None
    species: str
    where: str


def is_tree_symbol(symbol: DrawnSymbol) -> bool:
    """Whether a symbol is one of a tree, by the name of its block or the tags of its attributes."""
    return thing_of(symbol.block) == TREES or bool(_meanings(symbol.written).keys() & {"trunk", "girth", "dripline"})


def _meanings(written: Mapping[str, str]) -> dict[str, str]:
    """The tag of each meaning that a symbol's attributes have; the first tag that fits stands."""
    found: dict[str, str] = {}
    for tag in written:
        meaning = _meaning(tag)
        if meaning:
            found.setdefault(meaning, tag)
    return found


def _meaning(tag: str) -> str:
    words = re.split(r"[^a-zà-ÿ]+", tag.lower())
    whole = " ".join(words).strip()
    return next((meaning for meaning, names in _TAGS.items() if whole in names or set(names) & set(words)), "")


def trees_of(
    plan: DrawnPlan, layers: Sequence[str], units: Units, unit: str = ""
) -> tuple[tuple[PlanTree, ...], tuple[str, ...]]:
    """The trees on some layers of a plan in metres, and what was taken for what.

    Parameters
    ----------
    plan, layers
        The plan, and the layers of trees.
    units
        Of the yard, for bare figures of crowns and radii.
    unit
        Of bare trunk figures, as somebody states it ("in", "cm", ...); "": found from their size.

    Raises
    ------
    InputError
        For a figure that is no length; for trunks whose unit cannot be told.
    """
    symbols = [one for one in plan.symbols if one.layer in layers]
    circles = [one for one in plan.circles if one.layer in layers]
    _refuse_many(plan.label, layers, max(len(symbols), len(circles)))
    figures = list(map(_trunk_figure, symbols))
    unit = unit or unit_of_trunks(plan.label, figures, units)
    trees = [_of_symbol(plan.label, one, units, unit) for one in symbols]
    trees += _apart(_drawn_round(plan.label, circles), trees)
    labels = list(_tree_labels(plan, layers, units, unit))
    notes = [f"bare figures of trunks were taken as {unit}"] if any(map(is_bare, figures)) else []
    notes += ["crowns were taken as diameters"] if any(map(_is_across, symbols)) else []
    return tuple(_named([_with_label(tree, labels) for tree in trees])), tuple(notes)


def _trunk_figure(symbol: DrawnSymbol) -> str:
    return symbol.written.get(_meanings(symbol.written).get("trunk", ""), "")


def _apart(some: Sequence[PlanTree], others: Sequence[PlanTree]) -> list[PlanTree]:
    """Trees that are none of the others."""
    return [one for one in some if not any(math.dist(one.at, tree.at) < _TOGETHER for tree in others)]


def _refuse_many(label: str, layers: Sequence[str], count: int) -> None:
    if count > ENTRIES_MOST.value:
        problem = f"{', '.join(layers)} holds {count:,} symbols or circles, more than {ENTRIES_MOST.value:,.0f} trees."
        raise InputError(label, problem, "Name the layer of the trees: --layer trees=NAME.")


def _of_symbol(label: str, symbol: DrawnSymbol, units: Units, unit: str) -> PlanTree:
    tags = _meanings(symbol.written)
    said = {meaning: symbol.written[tag] for meaning, tag in tags.items() if symbol.written[tag]}
    where = f"{label} layer {symbol.layer}, symbol {symbol.block}"
    where += f' "{said["name"]}"' if "name" in said else ""

    def length(meaning: str, own: str = "") -> float | None:
        return written_length(said[meaning], units, f"{where} {tags[meaning]}", own) if meaning in said else None

    crown = length("dripline")
    return PlanTree(
        said.get("name", ""),
        symbol.at[:2],
        length("trunk", unit),
        length("girth", unit),
        crown if crown is None else crown / (2.0 if _is_across(symbol) else 1.0),
        length("keep_off"),
        said.get("species", ""),
        where,
    )


def _is_across(symbol: DrawnSymbol) -> bool:
    """Whether a symbol tells its crown from edge to edge: all do but those that say radius or dripline."""
    tag = _meanings(symbol.written).get("dripline", "radius").lower()
    return not any(word in tag for word in ("radius", "dripline"))


def _drawn_round(label: str, circles: Sequence[DrawnCircle]) -> list[PlanTree]:
    """Trees of circles, concentric ones once."""
    found: list[Spot] = []
    for circle in circles:
        if not any(math.dist(circle.at[:2], other[:2]) < _TOGETHER for other in found):
            found.append(circle.at)
    return [_of_circles(label, circles, at) for at in found]


def _of_circles(label: str, circles: Sequence[DrawnCircle], at: Spot) -> PlanTree:
    """A tree of circles: on a layer of trunks the circle is the trunk, else the widest is the edge of the crown."""
    here = [one for one in circles if math.dist(one.at[:2], at[:2]) < _TOGETHER]
    trunks = {one.radius for one in here if any(word in one.layer.lower() for word in _TRUNKS)}
    crowns = {one.radius for one in here if one.radius > _LEAST_CROWN} - trunks
    trunk = 2.0 * min(trunks) if trunks else None
    where = f"{label} layer {here[0].layer}, circle"
    return PlanTree("", at[:2], trunk, None, max(crowns, default=None), None, "", where)


_TreeLabel = tuple[DrawnLabel, float | None]


def _tree_labels(plan: DrawnPlan, layers: Sequence[str], units: Units, unit: str) -> Iterator[_TreeLabel]:
    """Labels that may say something of a tree, each with the trunk that it names."""
    for label in plan.labels:
        trunk = trunk_in(label.text, units, unit)
        if trunk is not None or label.layer in layers:
            yield label, trunk


def _with_label(tree: PlanTree, labels: Sequence[_TreeLabel]) -> PlanTree:
    """The tree with what the nearest label says of it: the trunk where it has none, and a name."""
    own = [(math.dist(label.at[:2], tree.at), label, trunk) for label, trunk in labels if _may_say(label, trunk, tree)]
    if not own:
        return tree
    _, label, trunk = min(own, key=lambda one: one[0])
    name = tree.name or without_trunk(label.text)
    known = tree.trunk is not None or tree.girth is not None
    return replace(tree, name=name, trunk=tree.trunk if known else trunk, species=tree.species or name)


def _may_say(label: DrawnLabel, trunk: float | None, tree: PlanTree) -> bool:
    """Whether a label stands by a tree and has something to say that it lacks."""
    near = math.dist(label.at[:2], tree.at) < max(_NEAR_LABEL * label.height, tree.dripline or 0.0)
    return near and (trunk is not None or not tree.name)


def _named(trees: Sequence[PlanTree]) -> Iterator[PlanTree]:
    """Trees with names of their own: those without one by their number, and a name that comes again with a number."""
    seen: dict[str, int] = {}
    for number, tree in enumerate(trees, start=1):
        name = tree.name or tree.species or f"tree {number}"
        seen[name] = seen.get(name, 0) + 1
        yield replace(tree, name=name if seen[name] == 1 else f"{name} ({seen[name]})")
