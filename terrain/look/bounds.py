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

from types import MappingProxyType

BOUNDS = MappingProxyType(
    {
        # NF-3: a centred top is a mark only where the mound is round as well. Set: round and oval cones and caps above
        # 0.99, natural to 0.96.
        "cone": 0.98,
        # NF-1. Set: windrows from 0.49, roofs from 0.52, cones from 0.60, natural to 0.35; a least-bent form with one
        # top only comes to 0.42.
        "straight_faces": 0.46,
        # Ends feather out (NF-6). Set: cones from 0.78, roofs from 0.87, caps from 1.0, natural to 0.51.
        "sharp_toe": 0.72,
        # NF-6. Set: mesas from 0.63, cones cut off at 0.3 of their width from 0.18, natural to 0.07.
        "flat_top": 0.12,
        # No figure found in print for the rounding of a crest. Set just below round cones (0.66 to 0.70), for open
        # terrain has peaks too (to 0.50, single ones above); an oval cone is left to the other signs.
        "sharp_peak": 0.64,
        # NF-5, the steeper end of the practice: four times as wide as high. Real hills of till keep to 0.07 (NF-2).
        "too_tall": 0.25,
        # The practice of unlike sides (NF-6), less the like sides of drumlins (NF-3). Set: mirrored humps from 0.99,
        # natural to 0.95; a drumlin a twentieth out of true comes to 0.98.
        "same_all_round": 0.985,
        # Equal height and width along the length looks made: common practice, no published source. Set: windrows from
        # 0.66, loaves from 0.75, natural to 0.40.
        "loaf": 0.50,
        # NF-1. Set: straight windrows mostly above 0.8, straight-sided roofs from 0.55, natural to 0.16.
        "parallel_contours": 0.30,
        # NF-1. Set: cakes of two to four treads from 0.81, natural to 0.56.
        "stepped": 0.66,
        # NF-7. Set: rings from 0.49, the volcano's crater from 0.19, natural to 0.14, but for two true bowls.
        "holds_water": 0.15,
    }
)
