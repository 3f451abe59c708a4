"""Pairs of words that no review may say together of one thing: what one says cannot be so where the other is."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator

# Each pair of patterns has one group "of", the thing that both speak of; where a pattern has none, of the whole yard.
PAIRS = (
    # Water: a ditch that leads it off, and one that keeps it; a house that the ground falls from, and to.
    (r"^(?P<of>.+) has no way out: water stands", r"(?P<of>[^.]+) leads the water off: keep it open"),
    (r"^Beside (?P<of>.+) the ground .+ the berm takes none of it", r"Beside (?P<of>.+) the ground .+ where it fell"),
    (
        r"^Runoff to the root protection zone of (?P<of>.+) falls:",
        r"^Runoff to the root protection zone of (?P<of>.+) rises:",
    ),
    # Soil: covered, and bare.
    (r"will lie on a slope over .+: the mulch covers it", r"will lie on a slope over .+, bare until it is planted"),
    (r"will lie on a slope over .+: the mulch covers it", r"^A bare face steeper than .+ rain washes it"),
    # Slopes: may be mown, and may not.
    (r"It may be mown or planted", r"cannot be mown|too steep for a mower|berms that are mown: plant it"),
    # Permits: none spoken of, and one likely.
    (r"^Ask the permit office whether a permit is needed", r"often needs a grading permit"),
    (r"^(?P<of>.+): .+ ends the exemption: ask", r"^(?P<of>.+): .+ over the .+ from which codes ask for a permit"),
    # Trees: nothing in a keep-off, and something; allowed, and not; nothing near, and over the roots.
    (r"No soil, no heap and no mulch lies inside any keep-off", r"inside its keep-off|lies inside the keep-off"),
    (r"^(?P<of>.+): soil up to .+ Allowed:", r"^(?P<of>.+): soil up to .+ state what an arborist has allowed"),
    (
        r"^(?P<of>.+): the work ends .+ outside its root protection zone",
        r"^(?P<of>.+): soil up to .+ of its root protection zone",
    ),
    (
        r"^How raised grade harms (?P<of>.+) is not",
        r"^By one list raised grade harms (?P<of>.+) (most|mod|least)",
    ),
    # Things: soil on one, and soil that only comes near.
    (r"^Soil lies on (?P<of>.+), which asks", r"^Soil comes within .+ of (?P<of>.+), which asks"),
    (r"^A dig crosses (?P<of>.+)\. Have it", r"^A dig comes within .+ of (?P<of>.+)\. Have it"),
    # Places: a stop, and a caution that it stands beside it.
    (r"^Soil lies up to .+ past the lot line", r"^The toe of the mound comes within .+ of the lot line"),
)


def _subjects(pattern: str, texts: Iterable[str]) -> dict[str, str]:
    found = ((re.search(pattern, text), text) for text in texts)
    return {match.groupdict().get("of") or "the yard": text for match, text in found if match}


def contradictions(texts: Iterable[str]) -> Iterator[tuple[str, str]]:
    """The pairs among the texts of one yard that cannot both be so."""
    said = list(texts)
    for one, other in PAIRS:
        first, second = _subjects(one, said), _subjects(other, said)
        yield from ((first[of], second[of]) for of in sorted(first.keys() & second.keys()))
