"""A tree's check as an arborist reads it: its circles, what the work does, soil by ring; the same on every sheet."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from terrain.findings import Finding
from terrain.review.model import DepthBand, Ring, TreeCheck
from terrain.review.species import harm_words
from terrain.review.tree_verdict import allowed_words, breaches, cut_among_roots
from terrain.review.words import percent
from terrain.site import anchorage_radius, root_rule
from terrain.soil import MULCH_BACK
from terrain.units import Units, show_area, show_length, show_volume, unit_length

Row = tuple[str, str]
MOST_BANDS = 4
MOST_RINGS = 10
AND_MORE = re.compile(r" and \d+ more\b")  # how `terrain.review.words.listed` shortens many names
OWN_WORDS = "The marks and words here are the arborist's own; the figures are planning figures."


@dataclass(frozen=True)
class RingTable:
    """Soil by ring: heads of the columns, rows of cells, and what the columns of depth hold."""

    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    remark: str


def circle_rows(check: TreeCheck, units: Units) -> tuple[Row, ...]:
    """The circles about the trunk's centre, from the inside out in the order of their meaning.

    What follows from a flare that nobody measured says so, wherever it stands.
    """
    assumed, bare = ", not measured" if check.flare_assumed else "", check.flare + MULCH_BACK
    return (
        ("trunk", show_length(check.trunk, units)),
        ("flare", _away(check.flare, units) + assumed),
        ("keep-off", _away(check.keep_off, units)),
        ("of it off the flare", _away(check.keep_off - check.flare, units) + assumed),
        ("no mulch within", _away(max(check.keep_off, bare), units) + (assumed if bare > check.keep_off else "")),
        ("3 x diameter", _away(anchorage_radius(check.trunk), units)),
        ("structural roots", _away(check.structural, units)),
        ("root protection zone", _away(check.root_zone, units)),
        ("by the rule", check.rule),
        ("trunk read at", _away(root_rule(check.rule).measured_at, units)),
        ("raised grade", harm_words(check.kind)),
        ("drip line", "not measured" if check.dripline is None else _away(check.dripline, units)),
    )


def work_rows(check: TreeCheck, units: Units) -> tuple[Row, ...]:
    """What the work does in the root zone, and how near it comes to the trunk."""
    rows = [
        ("in the keep-off", keep_off_words(check, units)),
        *_deepest(check, units),
        ("under soil", _with(check.share_of_root_zone_covered, show_volume(check.fill_in_root_zone, units))),
        ("stripped", _share(check.share_of_root_zone_stripped)),
        ("dug", _with(check.share_of_root_zone_dug, f"{show_length(check.deepest_cut_in_root_zone, units)} deep")),
        ("under heaps", _share(check.share_of_root_zone_heaped)),
        *((("under stones", _share(share)),) if (share := check.share_of_root_zone_stones) > 0.0 else ()),
        ("all together", _share(check.share_of_root_zone_disturbed)),
        ("nearest soil", _nearest(check.nearest_fill, check.trunk, units)),
        ("nearest cut", _nearest(check.nearest_cut, check.trunk, units)),
    ]
    rows += [("roots met by", f"{dig.name}, {dig.distance / check.trunk:.1f} x diameter") for dig in check.digs]
    if check.allowed is not None:
        rows.append(("allowed", allowed_words(check.allowed, units)))
    if check.changed_in_dripline > 0.0:
        rows.append(("under the crown", f"{show_area(check.changed_in_dripline, units)} changed past the zone"))
    return tuple(rows)


def limit_words(check: TreeCheck, units: Units) -> tuple[bool, str]:
    """Whether a tree's limits are kept, and the words beside "kept" or "broken"."""
    if not check.untouched:
        return False, f"keep-off of {_away(check.keep_off, units)}: {keep_off_words(check, units)}"
    if past := breaches(check, units):
        return False, f"root protection zone of {_away(check.root_zone, units)}: {'; '.join(one.words for one in past)}"
    if cut_among_roots(check):
        return False, f"roots that hold it up: ground is dug {_nearest(check.nearest_cut, check.trunk, units)} away"
    return True, f"no soil within {_away(check.keep_off, units)} of the trunk's centre"


def keep_off_words(check: TreeCheck, units: Units) -> str:
    """What lies in the keep-off: "nothing", or how much soil, digging, mulch and heap."""
    if check.untouched:
        return "nothing"
    told = [
        (check.fill_in_keep_off, f"{show_volume(check.fill_in_keep_off, units)} of soil"),
        (check.cut_in_keep_off, f"{show_volume(check.cut_in_keep_off, units)} dug"),
        (check.mulched_in_keep_off, f"{show_area(check.mulched_in_keep_off, units)} mulched"),
        (check.heaped_in_keep_off, f"{show_area(check.heaped_in_keep_off, units)} under heaps"),
        (check.stones_in_keep_off, f"{show_area(check.stones_in_keep_off, units)} under stones"),
    ]
    return ", ".join(words for amount, words in told if amount > 0.0)


def ring_table(check: TreeCheck, units: Units, most_rings: int = MOST_RINGS, most_bands: int = MOST_BANDS) -> RingTable:
    """Area under soil in each ring by depth, its deepest place, and the whole zone in the last row.

    Rings past the soil are told in one row, and where more than `most_rings` are left neighbours are joined; depths
    past `most_bands` share one column.
    """
    edges = band_edges(check, most_bands)
    names = [band_name(low, high, units) for low, high in edges]
    rings = merged_rings(_with_soil(check.rings), most_rings)
    area = "sq ft" if units == "ft" else "m2"
    rows = [_ring_row(ring, edges, units) for ring in rings]
    if rings and rings[-1].outer < check.root_zone - 1e-9:
        rows.append((f"{_away(check.root_zone, units)}", *("–" for _ in edges), "0 %", "–"))
    whole = tuple(_area(_between(check.bands, low, high), units) for low, high in edges)
    deepest = show_length(check.deepest_fill_in_root_zone, units) if check.bands else "–"
    rows.append(("zone", *whole, _per_cent(check.share_of_root_zone_covered), deepest))
    depth = "inches" if units == "ft" else "centimetres"
    remark = f"{area} under soil, by depth in {depth}."
    return RingTable(("out to", *names, "covered", "deepest"), tuple(rows), remark)


def _ring_row(ring: Ring, edges: Sequence[tuple[float, float]], units: Units) -> tuple[str, ...]:
    return (
        _away(ring.outer, units),
        *(_area(_between(ring.bands, low, high), units) for low, high in edges),
        _per_cent(ring.covered / ring.area),
        _depth(ring.deepest, units) if ring.covered > 0.0 else "–",
    )


def band_edges(check: TreeCheck, most: int = MOST_BANDS) -> tuple[tuple[float, float], ...]:
    """(shallow, deep) of at most `most` bands of depth in metres; the last of so many has no lower end."""
    edges = [(band.shallow, band.deep) for band in check.bands]
    if len(edges) >= most:
        edges = [*edges[: most - 1], (edges[most - 1][0], math.inf)]
    return tuple(edges)


def findings_on(check: TreeCheck, findings: Sequence[Finding], names: Sequence[str] = ()) -> tuple[Finding, ...]:
    """The findings that name a tree, in their order; of `names`, the longer ones that hold its own do not count.

    A finding that names a few trees "and 2 more" counts for every tree that the work touches.
    """
    longer = sorted((name for name in names if check.name in name and name != check.name), key=len, reverse=True)
    # Not by word boundaries: a name may end in a bracket, where there is none.
    own = re.compile(rf"(?<!\w){re.escape(check.name)}(?!\w)")

    def named(text: str) -> bool:
        for name in longer:
            text = text.replace(name, "")
        return own.search(text) is not None

    touched = check.share_of_root_zone_disturbed > 0.0

    def counted(found: Finding) -> bool:
        return touched and found.topic == "trees" and AND_MORE.search(found.text) is not None

    return tuple(found for found in findings if named(found.text) or counted(found))


def merged_rings(rings: Sequence[Ring], most: int) -> tuple[Ring, ...]:
    """The same soil in at most `most` rings: neighbours are joined two by two until they are few enough."""
    while len(rings) > most:
        pairs = [rings[k : k + 2] for k in range(0, len(rings), 2)]
        rings = [_joined(*pair) if len(pair) == 2 else pair[0] for pair in pairs]
    return tuple(rings)


def _joined(inner: Ring, outer: Ring) -> Ring:
    bands = tuple(replace(one, area=one.area + other.area) for one, other in zip(inner.bands, outer.bands, strict=True))
    return Ring(
        inner.inner,
        outer.outer,
        inner.area + outer.area,
        inner.covered + outer.covered,
        inner.volume + outer.volume,
        max(inner.deepest, outer.deepest),
        bands,
    )


def _with_soil(rings: Sequence[Ring]) -> Sequence[Ring]:
    """The rings up to the last that soil lies in; the first one alone where none does."""
    last = max((k for k, ring in enumerate(rings) if ring.covered > 0.0), default=0)
    return rings[: last + 1]


def _between(bands: Sequence[DepthBand], low: float, high: float) -> float:
    """Area in m2 of the bands between two depths in metres."""
    return sum(band.area for band in bands if band.shallow >= low - 1e-9 and band.deep <= high + 1e-9)


def band_name(low: float, high: float, units: Units) -> str:
    """ "0-4", or "12+" for what is deeper."""
    unit = unit_length("ft") / 12.0 if units == "ft" else 0.01
    return f"{low / unit:.0f}+" if math.isinf(high) else f"{low / unit:.0f}-{high / unit:.0f}"


def _area(m2: float, units: Units) -> str:
    """A bare area: whole square feet, or m2 with one decimal; a dash for none, and little never reads as none."""
    if m2 <= 0.0:
        return "–"
    value, places = (m2 / unit_length("ft") ** 2, 0) if units == "ft" else (m2, 1)
    return f"{value:.{places}f}" if round(value, places) > 0.0 else "<1" if units == "ft" else "<0.1"


def _per_cent(share: float) -> str:
    """A share for a narrow column; little never reads as none."""
    return "<1 %" if 0.0 < share < 0.01 else f"{100 * share:.0f} %"


def _depth(metres: float, units: Units) -> str:
    """A depth; little never reads as none."""
    shown = show_length(metres, units)
    return "trace" if shown.startswith("0 ") else shown


def _away(metres: float, units: Units) -> str:
    return show_length(metres, units, "distance")


def _deepest(check: TreeCheck, units: Units) -> Iterator[Row]:
    """Deepest soil, and how deep it lies before it settles where that is more."""
    if not check.deepest_fill_in_root_zone > 0.0:
        yield "deepest soil", "none"
        return
    finished, first = (show_length(d, units) for d in (check.deepest_fill_in_root_zone, check.deepest_on_day_one))
    yield "deepest soil", finished
    if first != finished:
        yield "on day one", first


def _share(share: float) -> str:
    return percent(share) if share > 0.0 else "none"


def _with(share: float, more: str) -> str:
    return f"{percent(share)}, {more}" if share > 0.0 else "none"


def _nearest(distance: float, trunk: float, units: Units) -> str:
    """ "8 ft, 3.2 x diameter"."""
    return f"{_away(distance, units)}, {distance / trunk:.1f} x diameter" if math.isfinite(distance) else "none"
