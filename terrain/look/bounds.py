"""The most of each mark that still reads natural, and how each figure was set.

"Set" means: on the labelled shapes of even seed in `tests/look`, between the natural shapes and the unnatural kinds
that the sign is there for; the odd seeds report. Marks NF-n are the facts on natural form that stand behind a sign:

NF-1  faces of one gradient mark conventional grading: Schor and Gray 1995, J. Geotech. Eng. 121(10), 729-734.
NF-2  relief of drumlins is at most 7 % of their width: Spagnolo, Clark and Hughes 2012, Geomorphology.
NF-3  drumlins have a top near half-way and like ends: Spagnolo, Clark, Hughes and Dunlop 2011.
NF-5  a planted mound is at least four to six times as wide as high: common practice, no published source.
NF-6  more than one high point, ends that run out long: common practice, no published source.
NF-7  a ring or a saddle that closes holds water: common practice, no published source.
"""

from __future__ import annotations

from types import MappingProxyType

BOUNDS = MappingProxyType(
    {
        # NF-3: roundness with a centred top. Set: round and oval cones and caps above 0.96, natural to 0.94.
        "cone": 0.98,
        # NF-1. Set: cones, roofs and windrows from 0.49, natural to 0.30.
        "straight_faces": 0.42,
        # Ends feather out (NF-6). Set: straight and bulging sides from 0.70, natural to 0.48.
        "sharp_toe": 0.70,
        # NF-6. Set: mesas from 0.59, cones cut off at a third of their width from 0.19, natural to 0.04.
        "flat_top": 0.12,
        # No figure found in print for the rounding of a crest. Set: cones from 0.46, natural to 0.40.
        "sharp_peak": 0.55,
        # NF-5, the steeper end of the practice: four times as wide as high. Real hills of till keep to 0.07 (NF-2).
        "too_tall": 0.25,
        # Against the rule of unlike sides (NF-6). Set: mirrored humps from 0.99, natural to 0.92.
        "same_all_round": 0.97,
        # Set: loaves and windrows from 0.75, natural to 0.40.
        "loaf": 0.50,
        # NF-1. Set: straight windrows from 0.75, roofs from 0.55, natural to 0.17.
        "parallel_contours": 0.30,
        # NF-1. Set: cakes of two to four treads from 0.13, natural to 0.05.
        "stepped": 0.67,
        # NF-7. Set: rings from 0.50, the volcano's crater from 0.20, open terrain mostly below 0.08.
        "holds_water": 0.15,
    }
)
