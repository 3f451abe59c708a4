"""What both pages of the crew's sheet share."""

from __future__ import annotations

import re


def glued(text: str) -> str:
    """The text with a no-break space behind every figure, so that no measure is torn at the end of a line."""
    return re.sub(r"(?<=\d) (?=\S)", "\u00a0", text)
