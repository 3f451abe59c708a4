"""Trunks that a scan shows, offered as `[[tree]]` entries of a site file, each figure with its error."""

from __future__ import annotations

import json
import math
from collections.abc import Iterator
from dataclasses import dataclass

from terrain.limits import INCH
from terrain.numerics import CENTRAL_90
from terrain.site import ScanTrunk, Site
from terrain.units import Units, show_length, show_place, unit_length

TREES_FILE = "scan-trees.toml"
# Less of the circle than the first, or a lean over the second, leaves a diameter that a tape has to check: on 120
# degrees with 10 mm of noise a radius of 250 mm is off by 1.5 % (one standard deviation, worked out by simulation).
_SHORT_ARC, _LEANS = math.radians(120.0), math.tan(math.radians(10.0))
_NO_FLARE = 1.05  # times the trunk's radius
_NEAR = 0.3  # metres beyond its radius: the tree is in the site file already


@dataclass(frozen=True)
class OfferedTrunk:
    """A trunk that the site file does not have: a name for it, what the scan shows, and what to check, in sentences."""

    name: str
    trunk: ScanTrunk
    check: tuple[str, ...]


def offered_trunks(site: Site) -> tuple[OfferedTrunk, ...]:
    """The trunks of the scan that the site file does not have, in the scan's order; none without a scan."""
    scan = site.survey.scan
    known = {tree.name for tree in site.tree}
    new = [trunk for trunk in (scan.trunks if scan else ()) if not _is_known(site, trunk)]
    names = (
        name for name in (f"trunk {number}" for number in range(1, len(new) + len(known) + 1)) if name not in known
    )
    return tuple(OfferedTrunk(name, trunk, tuple(_check(trunk))) for name, trunk in zip(names, new, strict=False))


def _is_known(site: Site, trunk: ScanTrunk) -> bool:
    reach = trunk.diameter / 2.0 + _NEAR
    return any(math.dist(tree.at, trunk.at) < max(reach, tree.trunk / 2.0 + _NEAR) for tree in site.tree)


def _check(trunk: ScanTrunk) -> Iterator[str]:
    if trunk.arc < _SHORT_ARC:
        yield f"Seen on {math.degrees(trunk.arc):.0f} degrees only: measure it with a tape."
    if trunk.lean > _LEANS:
        yield f"It leans {math.degrees(math.atan(trunk.lean)):.0f} degrees: measure it across its axis."
    if trunk.flare is None:
        yield "What the flare does is hidden: look."
    elif trunk.flare < _NO_FLARE * trunk.diameter / 2.0:
        yield "No flare shows at the ground: look whether it is buried."


def trunk_size(trunk: ScanTrunk, units: Units) -> str:
    """A diameter and half its 90 % range: "0.674 m ± 0.004 m"."""
    return f"{_diameter(trunk.diameter, units)} ± {_diameter(_off(trunk), units)}"


def trunk_words(trunk: ScanTrunk, units: Units) -> str:
    """A trunk in a few words: "0.674 m ± 0.004 m at x 7.16, y 14.87"."""
    return f"{trunk_size(trunk, units)} at {show_place(*trunk.at, units)}"


def _off(trunk: ScanTrunk) -> float:
    """Half the central 90 % range of the diameter, metres, and never less than a tape's own."""
    return max(CENTRAL_90 * trunk.deviation, 0.003)


def place_doubt(site: Site) -> float | None:
    """How far off the marks put a thing of the scan, root mean square in metres; None without marks."""
    misses = site.survey.scan.misses if site.survey.scan else ()
    return math.sqrt(sum(miss**2 for miss in misses) / len(misses)) if misses else None


def trees_text(site: Site) -> str:
    """The trunks as entries to copy into the site file; "" where none is offered."""
    found, scan = offered_trunks(site), site.survey.scan
    if not found or scan is None:
        return ""
    doubt = place_doubt(site)
    place = "nothing checks their places" if doubt is None else f"their places are sure to {_metres(doubt, site.units)}"
    head = [
        f"# Round things that stand higher than a person in {scan.file}: posts and poles may be among them.",
        "# Copy what is a tree into the site file, and measure each with a tape where it matters.",
        f"# Errors are those of nine cases in ten; {place}: add that to what is kept off.",
    ]
    return "\n".join([*head, *(line for one in found for line in _entry(one, site.units))]) + "\n"


def _entry(one: OfferedTrunk, units: Units) -> Iterator[str]:
    size, trunk = unit_length(units), one.trunk
    yield from ("", "[[tree]]")
    yield f"name  = {json.dumps(one.name)}"
    yield f"at    = [{trunk.at[0] / size:.2f}, {trunk.at[1] / size:.2f}]"
    yield f'trunk = "{_diameter(trunk.diameter, units)}"  # at breast height, +- {_diameter(_off(trunk), units)}'
    if trunk.flare is not None:
        yield f'flare = "{trunk.flare / size:.2f} {units}"  # radius at the ground, as far as the scan sees it'
    yield from (f"# {text}" for text in one.check)


def _diameter(metres: float, units: Units) -> str:
    return f"{metres / INCH:.1f} in" if units == "ft" else f"{metres:.3f} m"


def _metres(metres: float, units: Units) -> str:
    return show_length(metres, units, "elevation")


def scan_plain(site: Site) -> dict[str, object] | None:
    """What `ground.json` has of a scan, SI units; None without one."""
    scan = site.survey.scan
    if scan is None:
        return None
    return {
        "file": scan.file,
        "points": scan.points,
        "ground_share": scan.share,
        "shots": scan.cells,
        "size_by_marks": scan.stretch,
        "mark_misses_m": list(scan.misses),
        "shared_mean_m": scan.shared.mean,
        "shared_place_m": scan.shared.place,
        "trunks": [
            {
                "at": list(trunk.at),
                "diameter_m": trunk.diameter,
                "diameter_deviation_m": trunk.deviation,
                "arc_deg": math.degrees(trunk.arc),
                "lean": trunk.lean,
                "flare_m": trunk.flare,
            }
            for trunk in scan.trunks
        ],
    }
