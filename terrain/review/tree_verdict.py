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
STRUCTURAL = "AS 4970-2009 (replaced in 2025) cl. 3.3.5: the structural root zone"
ROUNDING = 1e-6  # metres, and share of a zone: work that ends on a circle drawn with corners has not crossed it


@dataclass(frozen=True)
class Breach:
    """A bound that is passed: the figure and the bound (metres, or shares), who says so, and the words for it.

    `kind` is "flare", "depth", "share", "soil", "stripped" or "heap". `words` follow "the root zone of bur oak:"; `why`
    and `mend` are clauses of a sentence on what to do about it.
    """

    kind: str
    value: float
    bound: float
    source: str
    words: str
    why: str
    mend: str


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
    return (*flare, *_allowed(check, units), *_share(check), *near, *_heap(check, units))


def allowed_words(allowed: Allowed, units: Units) -> str:
    """ "3 in of soil, 15 % of the zone; A. Person, licence 12-3, 2026-05-04"."""
    what = [f"{show_length(allowed.fill, units)} of soil"] if allowed.fill is not None else []
    what += [f"{percent(allowed.share)} of the zone"] if allowed.share is not None else []
    return f"{', '.join(what)}; {allowed.by}, licence {allowed.licence}, {allowed.date}"


def _flare(check: TreeCheck, units: Units) -> Iterator[Breach]:
    """Soil or stripping by the flare, whatever is allowed."""
    kinds = (("soil", check.nearest_fill), ("stripping", check.nearest_stripped))
    work, nearest = min(kinds, key=lambda one: one[1])
    bound = check.flare + FLARE_CLEAR.value
    if nearest < bound - ROUNDING:
        clear = show_length(FLARE_CLEAR.value, units)
        whose = "its root flare, which nobody measured" if check.flare_assumed else "its root flare"
        why = "soil on the flare rots the bark" if work == "soil" else "the flare is to stay as it is"
        mend, words = f"keep {clear} clear round {whose}, whatever is allowed", f"{work} within {clear} of {whose}"
        yield Breach("flare", nearest, bound, FLARE_CLEAR.source, words, why, mend)


def _allowed(check: TreeCheck, units: Units) -> Iterator[Breach]:
    """Work past what an arborist has allowed; the depth before settling is held against it."""
    depth, share = (None, None) if check.allowed is None else (check.allowed.fill, check.allowed.share)
    if depth is not None and check.deepest_on_day_one > max(depth, NOISE.value) + 1e-9:
        most, deepest = show_length(depth, units), show_length(check.deepest_on_day_one, units)
        why = f"on day one that is past the {most} that the site file allows there"
        deepest = f"just over {most}" if deepest == most else deepest
        words = f"soil {deepest} deep on day one, {most} allowed"
        yield Breach("depth", check.deepest_on_day_one, depth, ALLOWED, words, why, "lay less")
    disturbed = check.share_of_root_zone_disturbed
    if share is not None and disturbed > share + ROUNDING:
        together = percent_apart(disturbed, share)
        why = f"with stripped and dug ground that is {together}, past the {percent(share)} that the site file allows"
        words = f"{together} filled, dug or stripped, {percent(share)} allowed"
        yield Breach("share", disturbed, share, ALLOWED, words, why, "make the bed smaller")


def _share(check: TreeCheck) -> Iterator[Breach]:
    disturbed = check.share_of_root_zone_disturbed
    if (check.allowed is None or check.allowed.share is None) and disturbed > SHARE_MOST.value + ROUNDING:
        most, together = percent(SHARE_MOST.value), percent_apart(disturbed, SHARE_MOST.value)
        heaped = check.share_of_root_zone_heaped
        alone = heaped >= disturbed - SHARE_MOST.value
        smaller = "move the heaps off the roots" if alone and heaped > 0.0 else "make the bed smaller"
        why = f"all work together takes {together}, past {most}"
        words = f"{together} filled, dug or stripped, {most} at most"
        yield Breach("share", disturbed, SHARE_MOST.value, SHARE_MOST.source, words, why, smaller)


def _near(check: TreeCheck, units: Units) -> Iterator[Breach]:
    """Soil or stripping among the holding roots, the nearer, where nobody has allowed soil, or a share, of it."""
    bound, allowed = check.holding_roots, check.allowed
    soil = math.inf if allowed is not None and allowed.fill is not None else check.nearest_fill
    stripped = math.inf if allowed is not None and allowed.share is not None else check.nearest_stripped
    kind, nearest, does = min(("soil", soil, "soil lies"), ("stripped", stripped, "ground is stripped"), key=_distance)
    if nearest < bound - ROUNDING:
        source = ANCHORAGE.source if nearest < anchorage_radius(check.trunk) else STRUCTURAL
        far, away = (show_length(length, units, "distance") for length in (bound, nearest))
        why = f"at {away} it is over the roots that hold it up (to {far})"
        away = f"just under {far}" if away == far else away
        words = f"{does} {away} from its centre, {far} at least"
        source += "; soil and stripping are held to the same distance"
        yield Breach(kind, nearest, bound, source, words, why, "draw the bed back")


def _distance(one: tuple[str, float, str]) -> float:
    return one[1]


def heap_reach(check: TreeCheck) -> float:
    """Distance in metres from the trunk's centre within which no heap stands, whatever else is allowed."""
    return max(check.holding_roots, check.flare + FLARE_CLEAR.value)


def _heap(check: TreeCheck, units: Units) -> Iterator[Breach]:
    """A heap among the holding roots; `terrain.review.heaps` tells of it by its name."""
    bound, nearest = heap_reach(check), check.nearest_heap
    if check.keep_off - ROUNDING <= nearest < bound - ROUNDING:
        near, far = (show_length(length, units, "distance") for length in (nearest, bound))
        words = f"a heap stands {near} from its centre, {far} at least"
        yield Breach("heap", nearest, bound, STRUCTURAL, words, "it stands on holding roots", "move it")
