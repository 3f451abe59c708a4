"""Colours of the drawings: few, calm, read by colour-blind eyes, and apart from each other on a grey print.

Fill and cut are the two halves of the eleven-class BrBG scale of ColorBrewer (Brewer, Harrower and The Pennsylvania
State University, colorbrewer2.org, Apache licence); elevation is the first six classes of its YlGn scale, both
marked there as safe for colour-blind readers. No drawing says anything by colour alone.
"""

from __future__ import annotations

from collections.abc import Sequence

# Paper and ink.
PAPER = "#fbf8f1"
INK = "#2b2620"
SOFT_INK = "#6f675b"
FAINT = "#b9b0a1"
SOIL = "#e9dfcd"

# Things on the plan.
OUTLINE = "#3a2a17"
PROPOSED = "#7a4a12"
EXISTING = "#8c8579"
TREE = "#2f4a2c"
KEEP_OFF = "#7d1d12"
BUILDING = "#d9d3c7"
WALK = "#e6e2da"
MEADOW = "#d9d8b6"  # of the live page

# BrBG, light to dark on each side.
FILL_STEPS = ("#f6e8c3", "#dfc27d", "#bf812d", "#8c510a", "#543005")
CUT_STEPS = ("#c7eae5", "#80cdc1", "#35978f", "#01665e", "#003c30")

# Blues, of the same scales: running and standing water.
WATER, WATER_EDGE = "#c6dbef", "#2171b5"

# Purples, light to dark: how unsure the ground is. Also ColorBrewer's, every lighter class of nine, so that shots and
# tapes in ink are seen on the darkest; safe for colour-blind readers.
UNSURE_STEPS = ("#fcfbfd", "#dadaeb", "#bcbddc", "#9e9ac8", "#807dba")


def grey_level(colour: str) -> float:
    """Lightness of a "#rrggbb" colour on a grey print, 0 (black) to 1 (white).

    The luma weights of ITU-R BT.601, which printers and viewers use to turn a picture grey.
    """
    red, green, blue = channels(colour)
    return 0.299 * red + 0.587 * green + 0.114 * blue


def channels(colour: str) -> tuple[float, float, float]:
    """Red, green and blue of a "#rrggbb" colour, each 0 to 1."""
    red, green, blue = (int(colour[i : i + 2], 16) / 255.0 for i in (1, 3, 5))
    return red, green, blue


def ink_on(colour: str) -> str:
    """The text colour that stands out on a tinted ground: dark on light, paper on dark."""
    return INK if grey_level(colour) > 0.5 else PAPER


def spread(steps: Sequence[str], count: int) -> tuple[str, ...]:
    """`count` colours out of a scale, light to dark, as far apart as the scale allows (count <= len(steps))."""
    if count <= 1:
        return (steps[min(2, len(steps) - 1)],)
    last = len(steps) - 1
    return tuple(steps[round(i * last / (count - 1))] for i in range(count))
