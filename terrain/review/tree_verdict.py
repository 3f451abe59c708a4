"""Whether the work in a root zone is past the bounds that only an arborist's permission moves, and how it is said.

A quarter of the zone filled, dug or stripped together, or work within three trunk diameters or the structural root
zone, is past the bound. What an arborist has allowed for the tree takes the bound's place; nothing allowed reaches over
the root flare.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from terrain.limits import ANCHORAGE, FLARE_CLEAR, NOISE, SHARE_MOST
from terrain.review.model import TreeCheck
from terrain.review.words import percent, percent_apart
from terrain.site import Allowed, anchorage_radius
from terrain.units import Units, show_length

ALLOWED = "the site file: what an arborist has allowed"
STRUCTURAL = "AS 4970-2009 cl. 3.3.5: the structural root zone"
ROUNDING = 1e-6  # metres, and share of a zone: work that ends on a circle drawn with corners has not crossed it


@dataclass(frozen=True)
class Breach:
    """A bound that is passed: the figure and the bound (metres, or shares), who says so, and the words for it.

    `kind` is "flare", "depth", "share", "soil" or "stripped". `words` follow "the root zone of bur oak:"; `ask` is what
    to do about it, as a sentence.
    """

    kind: str
    value: float
    bound: float
    source: str
    words: str
    ask: str


def cut_among_roots(check: TreeCheck) -> bool:
    """Whether ground is dug among the roots that hold the tree up, and nobody has allowed it."""
    deep = check.deepest_cut_in_root_zone > NOISE.value and check.nearest_cut < check.holding_roots
    return deep and not dig_allowed(check)


def dig_allowed(check: TreeCheck) -> bool:
    """Whether an arborist has allowed a share that takes the dig in, and the dig keeps off the flare."""
    allowed = check.allowed
    if allowed is None or allowed.share is None:
        return False
    within = check.share_of_root_zone_disturbed <= allowed.share + ROUNDING
    return within and check.nearest_cut >= check.flare + FLARE_CLEAR.value - ROUNDING


def breaches(check: TreeCheck, units: Units) -> tuple[Breach, ...]:
    """Every bound on the zone that fill, heaps and stripping pass, the loudest first; digs have their own words."""
    # Soil in the keep-off has a stop of its own, with the same advice.
    flare, near = ((), ()) if check.keep_off_broken else (_flare(check, units), _near(check, units))
    return (*flare, *_allowed(check, units), *_share(check), *near)


def allowed_words(allowed: Allowed, units: Units) -> str:
    """ "3 in of soil, 15 % of the zone; A. Person, licence 12-3, 2026-05-04"."""
    what = [f"{show_length(allowed.fill, units)} of soil"] if allowed.fill is not None else []
    what += [f"{percent(allowed.share)} of the zone"] if allowed.share is not None else []
    return f"{', '.join(what)}; {allowed.by}, licence {allowed.licence}, {allowed.date}"


def _flare(check: TreeCheck, units: Units) -> Iterator[Breach]:
    """Soil, heaps or stripping by the flare, whatever is allowed."""
    kinds = (("soil", min(check.nearest_fill, check.nearest_heap)), ("stripping", check.nearest_stripped))
    work, nearest = min(kinds, key=lambda one: one[1])
    bound = check.flare + FLARE_CLEAR.value
    if nearest < bound - ROUNDING:
        clear = show_length(FLARE_CLEAR.value, units)
        whose = "its root flare, which nobody measured" if check.flare_assumed else "its root flare"
        harm = "Soil on the flare rots the bark" if work == "soil" else "The flare is the tree's own"
        ask = f"{harm}: keep {clear} clear round {whose}, whatever is allowed."
        yield Breach("flare", nearest, bound, FLARE_CLEAR.source, f"{work} within {clear} of {whose}", ask)


def _allowed(check: TreeCheck, units: Units) -> Iterator[Breach]:
    """Work past what an arborist has allowed; the depth before settling is held against it."""
    depth, share = (None, None) if check.allowed is None else (check.allowed.fill, check.allowed.share)
    if depth is not None and check.deepest_on_day_one > max(depth, NOISE.value) + 1e-9:
        most, deepest = show_length(depth, units), show_length(check.deepest_on_day_one, units)
        ask = f"On day one that is past the {most} that the site file allows there."
        deepest = f"just over {most}" if deepest == most else deepest
        words = f"soil {deepest} deep on day one, {most} allowed"
        yield Breach("depth", check.deepest_on_day_one, depth, ALLOWED, words, ask)
    disturbed = check.share_of_root_zone_disturbed
    if share is not None and disturbed > share + ROUNDING:
        together = percent_apart(disturbed, share)
        ask = f"With stripped and dug ground that is {together}, past the {percent(share)} that the site file allows."
        words = f"{together} filled, dug or stripped, {percent(share)} allowed"
        yield Breach("share", disturbed, share, ALLOWED, words, ask)


def _share(check: TreeCheck) -> Iterator[Breach]:
    disturbed = check.share_of_root_zone_disturbed
    if (check.allowed is None or check.allowed.share is None) and disturbed > SHARE_MOST.value + ROUNDING:
        most, together = percent(SHARE_MOST.value), percent_apart(disturbed, SHARE_MOST.value)
        ask = f"With stripped and dug ground that is {together}, past {most}: make the bed smaller, or state "
        ask += "what an arborist has allowed."
        words = f"{together} filled, dug or stripped, {most} at most"
        yield Breach("share", disturbed, SHARE_MOST.value, SHARE_MOST.source, words, ask)


def _near(check: TreeCheck, units: Units) -> Iterator[Breach]:
    """Soil or stripping among the holding roots, where nobody has allowed soil, or a share, of this zone."""
    bound, allowed = check.holding_roots, check.allowed
    soil = math.inf if allowed is not None and allowed.fill is not None else min(check.nearest_fill, check.nearest_heap)
    stripped = math.inf if allowed is not None and allowed.share is not None else check.nearest_stripped
    for kind, nearest, does in (("soil", soil, "soil lies"), ("stripped", stripped, "ground is stripped")):
        if nearest < bound - ROUNDING:
            source = ANCHORAGE.source if nearest < anchorage_radius(check.trunk) else STRUCTURAL
            far, away = (show_length(length, units, "distance") for length in (bound, nearest))
            ask = f"Within {far} of its centre stand the roots that hold it up: draw the bed back, or state what an "
            ask += "arborist has allowed."
            away = f"just under {far}" if away == far else away
            words = f"{does} {away} from its centre, {far} at least"
            source += "; soil and stripping are held to the same distance"
            yield Breach(kind, nearest, bound, source, words, ask)
