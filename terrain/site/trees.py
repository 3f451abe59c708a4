"""Trees as the site file states them, settled: one trunk diameter, a flare, and a keep-off about the trunk's centre."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

from terrain.errors import InputError
from terrain.site.model import Site, Tree
from terrain.site.root_zones import combined_trunk, keep_off_from_flare_edge, root_zone_radius, trunk_from_girth
from terrain.units import Units, show_length

_HAIR = 1e-9  # metres: lengths that were written equal may differ by rounding
_TRUNK = 'Add trunk = "26 in". In its place: girth, or stems = ["8 in", "11 in"].'


def tree_key(label: str, i: int, tree: Tree) -> str:
    """A tree's table as a person finds it, counted from 1."""
    return f'{label} [[tree]] {i} "{tree.name}"'


def settled_trees(site: Site, rule: str, label: str) -> tuple[Tree, ...]:
    """Every tree with a trunk, a flare, and a keep-off where one is stated; settled trees stay as they are.

    Parameters
    ----------
    site
        The site, in SI units.
    rule
        Name of the root zone rule: it says how several stems count as one, and may ask for the crown.
    label
        Opens every message.

    Raises
    ------
    InputError
        For a tree whose figures contradict each other, or that lacks one; the message names the key.
    """
    return tuple(_settled(site, rule, label))


def _settled(site: Site, rule: str, label: str) -> Iterator[Tree]:
    names: dict[str, int] = {}
    for i, tree in enumerate(site.tree, start=1):
        key = tree_key(label, i, tree)
        if tree.name in names:
            raise InputError(
                f"{key} name",
                f"[[tree]] {names[tree.name]} has the same name.",
                "Give every tree its own name.",
            )
        names[tree.name] = i
        tree = _with_flare(_with_trunk(tree, rule, site.units, key), site.units, key)
        tree = _with_keep_off(tree, site.units, key)
        _check_allowed(tree, key)
        try:
            root_zone_radius(rule, tree.trunk, tree.dripline)
        except InputError as error:
            raise InputError(f"{key} dripline", error.problem, error.accepted) from None
        yield tree


def _check_allowed(tree: Tree, key: str) -> None:
    """A permission says what it allows."""
    if tree.allowed is not None and tree.allowed.fill is None and tree.allowed.share is None:
        raise InputError(
            f"{key} allowed",
            "this allows nothing.",
            'Add fill = "3 in", share = "15 %", or both, as the arborist wrote.',
        )


def _with_trunk(tree: Tree, rule: str, units: Units, key: str) -> Tree:
    """One diameter: the stated one, or that of the girth or of the stems together."""
    found = {"trunk": tree.trunk} if tree.trunk > 0.0 else {}
    if tree.girth is not None:
        found["girth"] = trunk_from_girth(tree.girth)
    if tree.stems:
        found["stems"] = combined_trunk(tree.stems, rule)
    if not found:
        raise InputError(f"{key} trunk", "this is missing.", _TRUNK)
    (first, diameter), *others = found.items()
    for other, value in others:
        if abs(value - diameter) > _HAIR:
            raise InputError(
                f"{key} {other}",
                f"this makes a trunk of {show_length(value, units)}, but {first} makes {show_length(diameter, units)}.",
                f"Keep one of {first} and {other}.",
            )
    return replace(tree, trunk=diameter)


def _with_flare(tree: Tree, units: Units, key: str) -> Tree:
    """The measured flare, no narrower than the trunk; or the default that `Tree` states."""
    half = tree.trunk / 2.0
    if 0.0 < tree.flare < half - _HAIR:
        raise InputError(
            f"{key} flare",
            f"the flare's radius {show_length(tree.flare, units)} is less than half the trunk's diameter, "
            f"{show_length(half, units)}.",
            "Accepted: the radius of the root flare at the ground, from the trunk's centre.",
        )
    _check_keep_off(tree, units, key)
    assumed = max(half, min(tree.trunk, tree.keep_off or math.inf))
    return tree if tree.flare > 0.0 else replace(tree, flare=assumed, flare_assumed=True)


def _check_keep_off(tree: Tree, units: Units, key: str) -> None:
    """A keep-off is wider than the flare."""
    least, of = (tree.flare, "root flare") if tree.flare > 0.0 else (tree.trunk / 2.0, "trunk")
    if tree.keep_off is not None and tree.keep_off < least - _HAIR:
        raise InputError(
            f"{key} keep_off",
            f"{show_length(tree.keep_off, units)} from the trunk's centre lies inside the {of}, "
            f"whose radius is {show_length(least, units)}.",
            f"Accepted: the {of}'s radius or more; left out, the rule under [trees] sizes it.",
        )


def _with_keep_off(tree: Tree, units: Units, key: str) -> Tree:
    """A keep-off about the centre, where one is stated from the centre or from the flare's edge."""
    if tree.clear_of_flare is None:
        return tree
    radius = keep_off_from_flare_edge(tree.clear_of_flare, tree.trunk, tree.flare)
    if tree.keep_off is not None and abs(tree.keep_off - radius) > _HAIR:
        raise InputError(
            f"{key} clear_of_flare",
            f"this makes a keep-off of {show_length(radius, units, 'distance')} from the trunk's centre, but keep_off "
            f"states {show_length(tree.keep_off, units, 'distance')}.",
            "Keep one of the two.",
        )
    return replace(tree, keep_off=radius)
