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
from terrain.units import Units, parse_length, written_units

_TAGS: Mapping[str, tuple[str, ...]] = {
    "trunk": ("dbh", "trunk", "dia", "diam", "diameter", "caliper", "cal", "stammdurchmesser", "diametro", "diametre"),
    "girth": ("girth", "circumference", "gbh", "stammumfang", "umfang", "circonference", "perimetro"),
    "dripline": ("dripline", "canopy", "crown", "spread", "krone", "kronendurchmesser", "houppier", "copa"),
    "keep_off": ("tpz", "rpz", "crz", "keep off", "root zone", "protection"),
    "species": ("species", "botanical", "common", "kind", "type", "art", "baumart", "espece", "especie"),
    "name": ("name", "tag", "id", "no", "nr", "num", "number", "tree no", "tree id", "label"),
}
_TRUNK_MOST, _TRUNK_LEAST = 4.0, 0.03  # metres: thicker is no tree, thinner no tree that is checked
_TRUNKS = ("trunk", "trunks", "stem", "stems")
_TOGETHER = 0.3  # metres: symbols, circles and their centre nearer than this are one tree
_NEAR_LABEL = 4.0  # heights of its letters from the tree that a label names
_IN_TEXT = re.compile(
    r"(?P<figure>\d+(?:[.,]\d+)?)\s*(?P<unit>\"|''|in\b\.?|inch(?:es)?\b|cm\b|mm\b|m\b|ft\b|')?\s*(?P<dbh>dbh\b|cal\b|dia\b)?",
    re.IGNORECASE,
)


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
    meanings = set(_meanings(symbol.written))
    return thing_of(symbol.block) == TREES or bool(meanings & {"trunk", "girth", "dripline"} and "elev" not in meanings)


def _meanings(written: Mapping[str, str]) -> dict[str, str]:
    """The tag of each meaning that a symbol's attributes have; the first tag that fits stands."""
    found: dict[str, str] = {}
    for tag in written:
        words = " ".join(re.split(r"[^a-zà-ÿ]+", tag.lower())).strip()
        for meaning, names in _TAGS.items():
            if meaning not in found and (words in names or any(name in words.split() for name in names)):
                found[meaning] = tag
                break
    return found


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
    for count, noun in ((len(symbols), "symbols"), (len(circles), "circles")):
        if count > ENTRIES_MOST.value:
            problem = f"{', '.join(layers)} holds {count:,} {noun}, more trees than {ENTRIES_MOST.value:,.0f}."
            raise InputError(plan.label, problem, "Name the layer of the trees: --layer trees=NAME.")
    unit = unit or _trunk_unit(plan, symbols, units)
    trees = [_of_symbol(plan.label, one, units, unit) for one in symbols]
    trees += [
        _of_circles(plan, circles, one)
        for one in _centres(circles)
        if not any(math.dist(one[:2], tree.at) < _TOGETHER for tree in trees)
    ]
    labels = [
        (label, trunk)
        for label in plan.labels
        if (trunk := _trunk_in(label, units, unit)) is not None or label.layer in layers
    ]
    named = list(_named([_with_label(tree, labels) for tree in trees]))
    bare = any(_is_bare(one.written.get(_meanings(one.written).get("trunk", ""), "")) for one in symbols)
    notes = [f"bare figures of trunks were taken as {unit}"] if bare else []
    notes += ["crowns were taken as diameters"] if any(_is_across(one) for one in symbols) else []
    return tuple(named), tuple(notes)


def _is_bare(text: str) -> bool:
    try:
        return math.isfinite(float(text.replace(",", ".")))
    except ValueError:
        return False


def _trunk_unit(plan: DrawnPlan, symbols: Sequence[DrawnSymbol], units: Units) -> str:
    """The unit that makes trees of all bare trunk figures; refused where none or several do."""
    figures = []
    for one in symbols:
        text = one.written.get(_meanings(one.written).get("trunk", ""), "").replace(",", ".")
        if _is_bare(text):
            figures.append(float(text))
    usual = ("in", "ft") if units == "ft" else ("cm", "m", "mm")
    if not figures:
        return usual[0]
    middle = sorted(figures)[len(figures) // 2]
    fits = [unit for unit in usual if 0.08 <= middle * parse_length(f"1 {unit}", units, "") <= 2.5]
    if len(fits) != 1:
        raise InputError(
            f"{plan.label} trunks",
            f"bare figures about {middle:g}: their unit cannot be told.",
            "State it: --trunk in, --trunk cm, --trunk mm, --trunk ft or --trunk m.",
        )
    return fits[0]


def _length(text: str, units: Units, where: str, unit: str = "") -> float:
    text = text.replace(",", ".").replace("''", '"').lower().removeprefix("ø").strip()
    bare = _is_bare(text)
    return parse_length(f"{text} {unit}" if bare and unit else text, units, where)


def _of_symbol(label: str, symbol: DrawnSymbol, units: Units, unit: str) -> PlanTree:
    tags = _meanings(symbol.written)
    said = {meaning: symbol.written[tag] for meaning, tag in tags.items() if symbol.written[tag]}
    where = f"{label} layer {symbol.layer}, symbol {symbol.block}"
    where += f' "{said["name"]}"' if "name" in said else ""

    def length(meaning: str, own: str = "") -> float | None:
        return _length(said[meaning], units, f"{where} {tags[meaning]}", own) if meaning in said else None

    dripline = length("dripline")
    return PlanTree(
        said.get("name", ""),
        symbol.at[:2],
        length("trunk", unit),
        length("girth", unit),
        dripline / 2.0 if _is_across(symbol) and dripline is not None else dripline,
        length("keep_off"),
        said.get("species", ""),
        where,
    )


def _is_across(symbol: DrawnSymbol) -> bool:
    """Whether a symbol tells its crown from edge to edge: all do but those that say radius or dripline."""
    tag = _meanings(symbol.written).get("dripline", "radius").lower()
    return not any(word in tag for word in ("radius", "dripline"))


def _centres(circles: Sequence[DrawnCircle]) -> list[Spot]:
    """The places of circles, concentric ones once."""
    found: list[Spot] = []
    for circle in circles:
        if not any(math.dist(circle.at[:2], other[:2]) < _TOGETHER for other in found):
            found.append(circle.at)
    return found


def _of_circles(plan: DrawnPlan, circles: Sequence[DrawnCircle], at: Spot) -> PlanTree:
    """A tree of circles: on a layer of trunks the circle is the trunk, else the widest is the edge of the crown."""
    here = [one for one in circles if math.dist(one.at[:2], at[:2]) < _TOGETHER]
    trunks = [one.radius for one in here if any(word in one.layer.lower() for word in _TRUNKS)]
    crowns = [one.radius for one in here if 2.0 * one.radius > _TRUNK_MOST / 4.0 and one.radius not in trunks]
    return PlanTree(
        "",
        at[:2],
        2.0 * min(trunks) if trunks else None,
        None,
        max(crowns) if crowns else None,
        None,
        "",
        f"{plan.label} layer {here[0].layer}, circle",
    )


def _with_label(tree: PlanTree, labels: Sequence[tuple[DrawnLabel, float | None]]) -> PlanTree:
    """The tree with what the nearest label says of it, each with its trunk: the trunk where it has none, and a name."""
    near = [
        (math.dist(label.at[:2], tree.at), label, trunk)
        for label, trunk in labels
        if math.dist(label.at[:2], tree.at) < max(_NEAR_LABEL * label.height, tree.dripline or 0.0)
    ]
    for _, label, trunk in sorted(near, key=lambda one: one[0]):
        if trunk is not None or not tree.name:
            name = tree.name or _IN_TEXT.sub("", label.text).replace("trunk", "").strip(" ,;:-/()") or label.text
            own = tree.trunk if tree.trunk is not None or tree.girth is not None else trunk
            return replace(tree, name=name, trunk=own, species=tree.species or name)
    return tree


def _trunk_in(label: DrawnLabel, units: Units, unit: str) -> float | None:
    """The trunk that a label names with its unit: `24" OAK`, "oak DBH 24", "Quercus 60 cm"."""
    for found in _IN_TEXT.finditer(label.text):
        before = label.text[: found.start()].lower().rstrip(" :=")
        said = found["unit"] or found["dbh"] or before.endswith(("dbh", "trunk", "ø", "dia", "cal"))
        if not said:
            continue
        text = found["figure"].replace(",", ".") + " " + (found["unit"] or unit).replace("''", '"')
        metres = parse_length(text, units, f"label {label.text}")
        if _TRUNK_LEAST <= metres <= _TRUNK_MOST and written_units(text) is not None:
            return metres
    return None


def _named(trees: Sequence[PlanTree]) -> Iterator[PlanTree]:
    """Trees with names of their own: those without one by their number, and a name that comes again with a number."""
    seen: dict[str, int] = {}
    for number, tree in enumerate(trees, start=1):
        name = tree.name or tree.species or f"tree {number}"
        seen[name] = seen.get(name, 0) + 1
        own = name if seen[name] == 1 else f"{name} ({seen[name]})"
        yield replace(tree, name=own)
