"""Root zones: the published rules that size the ground around a trunk, in one table.

Every radius is measured in plan from the centre of the stem. The figures are planning defaults: a circle says
where roots are to be expected, not where they are, and a qualified arborist's judgement overrides each.

Left out on purpose: the rules for palms, which were seen from memory only.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from difflib import get_close_matches

from terrain.errors import InputError
from terrain.limits import ANCHORAGE, FOOT
from terrain.site.model import Tree


@dataclass(frozen=True)
class RootRule:
    """One published rule: radius = `per_trunk` x trunk diameter, not less than `least`, not more than `most`.

    Parameters
    ----------
    name
        What a person types as `rule` under `[trees]`.
    per_trunk
        Radius per unit of trunk diameter (1 ft of radius per inch of diameter is 12).
    source
        Where the rule is published.
    measured_at
        Height above ground, in metres, at which the rule wants the diameter taken.
    least, most
        Bounds of the radius in metres.
    stems_by_mean_above
        Number of stems above which they are combined by their mean, not by the root of the sum of squares.
    past_crown
        How far past the edge of the crown the zone reaches at least, metres; None: the crown does not count.
    aliases
        Other ways to write the name.
    """

    name: str
    per_trunk: float
    source: str
    measured_at: float = 4.5 * FOOT
    least: float = 0.0
    most: float = math.inf
    stems_by_mean_above: int | None = None
    past_crown: float | None = None
    aliases: tuple[str, ...] = ()


_BS = "BS 5837:2012, Trees in relation to design, demolition and construction, Annex D"
_AS = "AS 4970-2009, Protection of trees on development sites, cl. 3.2; replaced by AS 4970:2025"
# Values from memory: no page that prints the table could be opened.
_MATHENY = "Matheny and Clark (1998), Trees and Development, by tolerance and age; have the arborist confirm it"

_PUBLISHED = (
    RootRule(
        "1 ft per inch",
        12.0,
        "Vancouver WA Municipal Code 20.170.100",
        aliases=(
            "1 foot per inch",
            "1.0 ft per inch",
            "1 ft/in",
            "12 x diameter",
            "12 x trunk",
            "12x",
            "12 D",
        ),
    ),
    RootRule(
        "1.25 ft per inch",
        15.0,
        "NC State Extension, Construction and Tree Protection, figure 3",
        aliases=("15 x diameter", "15x"),
    ),
    RootRule(
        "1.25 ft per inch, at least 6 ft",
        15.0,
        "NC Urban Forest Council, determining the critical root zone",
        least=6.0 * FOOT,
    ),
    RootRule(
        "1.5 ft per inch",
        18.0,
        "City of Edina MN, critical root zone",
        aliases=("18 x diameter", "18x"),
    ),
    RootRule(
        "BS 5837:2012",
        12.0,
        _BS,
        measured_at=1.5,
        most=15.0,
        stems_by_mean_above=5,
        aliases=("BS 5837", "BS5837"),
    ),
    RootRule("AS 4970-2009", 12.0, _AS, measured_at=1.4, least=2.0, most=15.0, aliases=("AS 4970", "AS4970-2009")),
    RootRule(
        "AS 4970:2025",
        12.0,
        "AS 4970:2025, notional root zone, cl. 3.2",
        measured_at=1.4,
        least=2.0,
        most=15.0,
        aliases=("AS4970:2025",),
    ),
    RootRule(
        "Ventura County, crown not measured",
        18.0,
        "Ventura County CA, coastal zoning ordinance Sec. 8178-7.4.3, less its dripline limb",
        least=15.0 * FOOT,
    ),
    RootRule(
        "Ventura County",
        18.0,
        "Ventura County CA, coastal zoning ordinance Sec. 8178-7.4.3",
        least=15.0 * FOOT,
        past_crown=5.0 * FOOT,
    ),
    RootRule(
        "dripline",
        0.0,
        "GSA Facilities Standards P100 (2003) sec. 2.5: grade inside the dripline must not change",
        past_crown=0.0,
        aliases=("drip line", "crown"),
    ),
)


def _matheny_and_clark() -> tuple[RootRule, ...]:
    """Nine rules: 0.5 ft per inch, and 0.25 more for each step of tolerance and each step of age."""
    rules = []
    for step, tolerance in enumerate(("good", "moderate", "poor")):
        for years, age in enumerate(("young", "mature", "over-mature")):
            feet_per_inch = 0.5 + 0.25 * step + 0.25 * years
            short = f"{tolerance} {age}"
            rules.append(
                RootRule(
                    f"{tolerance} tolerance, {age}",
                    12.0 * feet_per_inch,
                    _MATHENY,
                    aliases=(short, f"Matheny and Clark {short}"),
                )
            )
    return tuple(rules)


RULES: dict[str, RootRule] = {rule.name: rule for rule in _PUBLISHED + _matheny_and_clark()}


_SPELLINGS = (
    (r"×|times", "x"),
    (r"inch(es)?", "in"),
    (r"foot|feet", "ft"),
    (r"/", "per"),
    (r"diameters?|trunks?|dbh", "d"),
    (r"[^a-z0-9.]", ""),
)


def _key(name: str) -> str:
    """Spelling does not matter: lower case, one word for each unit, letters and figures only."""
    key = name.lower()
    for written, read in _SPELLINGS:
        key = re.sub(written, read, key)
    return key


_BY_KEY = {_key(name): rule for rule in RULES.values() for name in (rule.name, *rule.aliases)}


_ANY_TOLERANCE = '"good (or moderate, poor) tolerance, young (or mature, over-mature)"'


def root_rule(name: str) -> RootRule:
    """Return the published rule that `name` means, by its name or one of its other spellings.

    Raises
    ------
    InputError
        For a name that is not in the table; the message lists the names.
    """
    found = _BY_KEY.get(_key(name))
    if found is None:
        near = get_close_matches(_key(name), _BY_KEY, n=1)
        accepted = "; ".join(f'"{rule.name}"' for rule in _PUBLISHED)
        hint = f' Did you mean "{_BY_KEY[near[0]].name}"?' if near else ""
        raise InputError(
            "[trees] rule",
            f'"{name}" is not a known root zone rule.{hint}',
            f"Accepted: {accepted}; or by tolerance and age, as {_ANY_TOLERANCE}.",
        )
    return found


def check_rule(name: str) -> str:
    """Return the full name of the rule that `name` means; InputError lists the names where it means none."""
    return root_rule(name).name


def root_zone_radius(rule: str, trunk: float, dripline: float | None = None) -> float:
    """Radius of the root protection zone in metres, by the named rule.

    Parameters
    ----------
    rule
        Name of the rule.
    trunk
        Trunk diameter, metres.
    dripline
        Radius of the crown, metres; some rules go by it.

    Raises
    ------
    InputError
        For a trunk without a size, and where the rule goes by a crown that is not stated.
    """
    chosen = root_rule(rule)
    if not trunk > 0.0 or math.isinf(trunk):
        raise InputError("[[tree]] trunk", f"the trunk diameter is {trunk:g} m.", "It must be more than 0.")
    crown = 0.0
    if chosen.past_crown is not None:
        if dripline is None:
            raise InputError(
                "[[tree]] dripline",
                f'this is missing, and the rule "{chosen.name}" goes by the width of the crown.',
                'Add dripline = "18 ft", from the trunk to the edge of the crown, or name another rule under [trees].',
            )
        crown = dripline + chosen.past_crown
    return min(max(chosen.per_trunk * trunk, chosen.least, crown), chosen.most)


def structural_root_zone(diameter: float) -> float:
    """Radius in metres of the ground that holds the tree up: max(1.5, 0.64 x (50 D)^0.42), D in metres.

    AS 4970-2009 cl. 3.3.5. The standard takes D just above the root crown; with the diameter at breast
    height, which is smaller, the radius comes out a little small.
    """
    return max(1.5, 0.64 * math.pow(50.0 * diameter, 0.42))


def anchorage_radius(trunk: float) -> float:
    """Distance in metres from the stem within which a cut costs anchorage: 3 x trunk diameter.

    Smiley, Root pruning and stability of young willow oak (abstract): a measurable loss of anchorage for a
    straight trench nearer than three trunk diameters.
    """
    return ANCHORAGE.value * trunk


def flare_radius(tree: Tree) -> float:
    """Radius of the root flare in metres, never less than half the trunk diameter."""
    return max(tree.flare, tree.trunk / 2.0)


def keep_off_radius(tree: Tree, rule: str) -> float:
    """Radius in metres about the trunk centre that takes no fill and no cut.

    The keep-off that the site file states for the tree, or else the root zone of `rule`; never less than the
    flare.
    """
    wanted = root_zone_radius(rule, tree.trunk, tree.dripline) if tree.keep_off is None else tree.keep_off
    return max(wanted, flare_radius(tree))


def keep_off_from_flare_edge(distance: float, trunk: float, flare: float) -> float:
    """Turn a distance from the flare's edge into a radius from the stem centre; all in metres.

    The flare's radius counts as at least half the trunk diameter.
    """
    return distance + max(flare, trunk / 2.0)


def combined_trunk(stems: Sequence[float], rule: str) -> float:
    """Diameter in metres of one stem that stands in for several (diameters in metres), by the named rule.

    The root of the sum of squares (BS 5837:2012 Annex D for two to five stems; AS 4970-2009 App. A).
    Above five stems BS 5837:2012 takes the number of stems times their mean squared (value from memory).
    Rules that say nothing of several stems are given the root of the sum of squares: common practice, no
    published source.
    """
    if not stems or min(stems) <= 0.0:
        raise InputError("[[tree]] trunk", "a stem diameter is missing or not above 0.", "Give each stem's.")
    many = root_rule(rule).stems_by_mean_above
    if many is not None and len(stems) > many:
        return math.sqrt(len(stems)) * math.fsum(stems) / len(stems)
    return math.sqrt(math.fsum(stem * stem for stem in stems))


def trunk_from_girth(girth: float) -> float:
    """Trunk diameter in metres from a tape laid round the trunk, in metres."""
    return girth / math.pi
