"""The bounds that a review holds a design against: planning defaults, each with its source."""

from __future__ import annotations

from dataclasses import dataclass

from terrain.site.root_zones import FOOT, INCH


@dataclass(frozen=True)
class Bounds:
    """Bounds in metres and fractions.

    Parameters
    ----------
    noise
        Change of grade that a survey cannot tell from none: 0.5 in; common practice, no published source.
    trace
        Depth above which soil counts as lying there at all; thinner is arithmetic, not soil.
    fill_over_roots
        Deepest fill over a root zone before words grow strong: 2 in, U. Delaware Extension (Barton, 2008).
    clay_over_roots
        The same for clay: 1 in, U. Maryland Extension, Grade changes: trees and shrubs.
    share_to_ask
        Share of a root zone disturbed from which an arborist must justify it: 0.10, AS 4970-2009 cl. 3.3.3.
    share_most
        Share of the roots that may be disturbed at most: 0.25, Minnesota Stormwater Manual citing Johnson
        1999.
    beside_zone
        Work this near outside a root zone still counts as beside the tree: 5 ft; common practice.
    pond
        Depth from which standing water counts: 2 cm; common practice, no published source.
    fall, fall_within
        The ground falls at least 6 in within the first 10 ft of a building: IRC R401.3.
    paved_slope
        Paved ground within that distance falls at least 2 % away: IRC R401.3, exception.
    swale_slope
        A swale within that distance falls at least 2 % along its bed: IRC R401.3, exception.
    level_slope
        Ground that is to shed water falls at least 1 %: GSA Facilities Standards P100 (2003) sec. 2.5, turf.
    clearance
        Finished grade at a wall at least 6 in below the floor: IRC R404.1.6 and R317.1, where the floor's
        elevation stands in for the top of the foundation.
    short_crest
        Shortfall of a crest point that is worth a word: an inch, what a crew can build to.
    """

    noise: float = 0.5 * INCH
    trace: float = 0.001
    fill_over_roots: float = 2.0 * INCH
    clay_over_roots: float = 1.0 * INCH
    share_to_ask: float = 0.10
    share_most: float = 0.25
    beside_zone: float = 5.0 * FOOT
    pond: float = 0.02
    fall: float = 6.0 * INCH
    fall_within: float = 10.0 * FOOT
    paved_slope: float = 0.02
    swale_slope: float = 0.02
    level_slope: float = 0.01
    clearance: float = 6.0 * INCH
    short_crest: float = 1.0 * INCH


BOUNDS = Bounds()
