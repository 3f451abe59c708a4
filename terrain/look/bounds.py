"""The most of each mark that still reads natural, and how each figure was set.

"Set" means: on the labelled shapes of even seed in `tests/look`, between the natural shapes and the unnatural kinds
that the sign is there for; the odd seeds report. Marks NF-n are the facts on natural form that stand behind a sign:

NF-1  faces of one gradient mark conventional grading: Schor and Gray 1995, J. Geotech. Eng. 121(10), 729-734.
NF-2  relief of drumlins is at most 7 % of their width: Spagnolo, Clark and Hughes 2012, Geomorphology.
NF-3  drumlins have a top near half-way and like ends: Spagnolo, Clark, Hughes and Dunlop 2011, "The topography of
      drumlins: assessing their long profile shape".
NF-5  a planted mound is at least four to six times as wide as high: common practice, no published source.
NF-6  more than one high point, ends that run out long: common practice, no published source.
NF-7  a ring or a saddle that closes holds water: common practice, no published source.
"""

from __future__ import annotations

from dataclasses import dataclass
from types import MappingProxyType


@dataclass(frozen=True)
class Bound:
    """The most of a mark that reads natural (`most`), and the figure from which it needs no second sign (`far`)."""

    most: float
    far: float


BOUNDS = MappingProxyType(
    {
        # One profile all round a middle, shifted or not, is a heap to a designer (our own rule: drumlins can come near
        # it, NF-3). Set: cones, caps and shifted bells from 0.993, natural to 0.994, 97 of 100 under 0.985.
        "cone": Bound(0.988, 0.994),
        # NF-1. Set: cones from 0.46, roofs from 0.37, planes from 0.34, mostly from 0.28 under an inch of roughness; 99
        # of 100 natural ones to 0.25, a least-bent form with one top only to 0.29, rarely 0.36.
        "straight_faces": Bound(0.31, 0.38),
        # Ends feather out (NF-6). Set: cones from 0.78, roofs from 0.87, caps from 1.0, natural to 0.51.
        "sharp_toe": Bound(0.72, 0.78),
        # NF-6. Set: mesas from 0.44, hills cut off mostly from 0.12, cones cut off at 0.3 of their width from 0.14; of
        # natural ones 95 of 100 to 0.038, 99 to 0.068.
        "flat_top": Bound(0.08, 0.1),
        # No figure found in print for the rounding of a crest. Set just below round cones (0.66 to 0.70), for open
        # terrain has peaks too (to 0.50, single ones above); an oval cone is left to the other signs.
        "sharp_peak": Bound(0.64, 1.0),
        # NF-5, the steeper end of the practice: four times as wide as high. Real hills of till keep to 0.07 (NF-2).
        "too_tall": Bound(0.25, 0.4),
        # The practice of unlike sides (NF-6), less the like sides of drumlins (NF-3). Set: mirrored humps and
        # turned hills from 0.99, under an inch of roughness mostly from 0.966; natural to 0.95.
        "same_all_round": Bound(0.957, 0.963),
        # Equal height and width along the length looks made: common practice, no published source. Set: windrows from
        # 0.66, loaves from 0.75, natural to 0.40.
        "loaf": Bound(0.5, 0.6),
        # NF-1. Set: straight windrows from 0.70, planes mostly from 0.25, natural to 0.15.
        "parallel_contours": Bound(0.18, 0.25),
        # NF-1. Set: cakes of two to four treads from 0.81, natural to 0.56.
        "stepped": Bound(0.66, 0.78),
        # NF-7. Set: rings from 0.49, the volcano's crater from 0.19, natural to 0.14 but for a few true bowls.
        "holds_water": Bound(0.15, 0.185),
        # A fifth of change along a crest is common practice, no published source. Set: windrows, sausages and tilted
        # loaves of any bend from 0.972, natural to 0.967, 99 of 100 under 0.945.
        "same_section": Bound(0.938, 0.962),
        # Uneven spacing by chance is seen from about 5 % on (Morgan, Mareschal, Chubb and Solomon 2012, Proc. R. Soc. B
        # 279); rows of bumps from 0.94, raked loads from 0.85, natural to 0.85.
        "equal_bumps": Bound(0.8, 0.86),
        # Set: banks that follow the bed line from 0.98, natural to 0.982, 97 of 100 under 0.962.
        "follows_outline": Bound(0.962, 0.9765),
        # Set: mirrored hills from 0.98, natural to 0.956 (hills of till have like sides: NF-3).
        "mirrored": Bound(0.96, 0.966),
        # Set: ripples across loaves from 0.7, natural to 0.47. Moved up once, from 0.45 and 0.55, when mounds of a set
        # that had set no bound came to 0.58 (`tests/look/fresh_shapes.py`).
        "ripples": Bound(0.52, 0.65),
        # A corner of 45 degrees comes to 0.35. Set: the outlines of the labelled shapes, to 0.2.
        "spike": Bound(0.4, 1.2),
    }
)
