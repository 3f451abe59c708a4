"""What each layer of a plan looks like, and what it is taken for: by its name, or as somebody says."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from difflib import get_close_matches

from terrain.errors import InputError, InputErrors
from terrain.survey.plan.drawn import DrawnPlan
from terrain.survey.plan.looks import TAKES, LayerLook, looks_of
from terrain.survey.plan.name_words import (
    GRADES,
    TREES,
    UNUSED,
    USES,
    grade_of,
    thing_of,
)
from terrain.units import Units

_MOST_LAYERS = 16  # that a refusal lists


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
    return replace(look, use=use)


def _by_name(look: LayerLook) -> str:
    thing = thing_of(look.layer)
    if thing == TREES:
        return TREES if look.trees else ""
    if thing:
        return thing if look.rings else ""
    return grade_of(look.layer) if look.heights else TREES if look.trees and "tree symbol" in look.words else ""


def not_clear(plan: DrawnPlan, uses: PlanUses, problem: str, accepted: str) -> InputErrors:
    """A refusal that says what every layer looks like and what it was taken for, one a line."""
    told = [InputError(plan.label, problem, accepted)]
    shown = sorted(uses.looks, key=lambda look: (look.use in ("", UNUSED), not (look.heights or look.trees)))
    told += [
        InputError(f"{plan.label} layer {look.layer}", f"{look.words}; taken for {TAKES[look.use]}.") for look in shown
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
