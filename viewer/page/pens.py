"""The lines of the maps: the outline heaviest, proposed grade medium, existing grade light and dashed."""

from __future__ import annotations

from viewer.page.page import Pen
from viewer.page.palette import EXISTING, INK, KEEP_OFF, OUTLINE, PROPOSED, SOFT_INK, TREE

OUTLINE_PEN = Pen(OUTLINE, 2.2)
KEEP_OFF_PEN = Pen(KEEP_OFF, 1.3, (5.0, 2.2))
ZONE_PEN = Pen(TREE, 0.8, (9.0, 3.0, 1.2, 3.0))
BUILDING_PEN = Pen(INK, 1.6)
WALK_PEN = Pen(SOFT_INK, 0.9)
SECTION_PEN = Pen(INK, 1.0, (14.0, 3.0, 2.5, 3.0))
SURVEY_PEN = Pen(SOFT_INK, 0.6, (1.2, 2.6))
CROSS_PEN = Pen(SOFT_INK, 0.7)
SPECK_PEN = Pen(SOFT_INK, 0.45)
DOUBT_PEN = Pen(KEEP_OFF, 1.4)
EXISTING_PEN = Pen(EXISTING, 0.6, (5.0, 2.6))
EXISTING_STRONG = Pen(EXISTING, 1.0, (5.0, 2.6))
EXISTING_SOLID = Pen(PROPOSED, 0.6)  # where existing grade is the drawing's own subject
EXISTING_SOLID_STRONG = Pen(PROPOSED, 1.2)
OUTSIDE_PEN = Pen(EXISTING, 0.45, (1.6, 3.2))
PROPOSED_PEN = Pen(PROPOSED, 1.2)
PROPOSED_STRONG = Pen(PROPOSED, 1.7)
