"""Text that stands where it is put: without the signs that act on a terminal, a page or the order of letters."""

from __future__ import annotations

import re

# Control signs (Unicode category Cc), marks of direction and other format signs that show nothing, line and paragraph
# separators, halves of pairs. The two joiners stay: several scripts are misspelled without them.
_ACTING = re.compile(
    "[\x00-\x1f\x7f-\x9f\xad\u061c\u180e\u200b\u200e\u200f\u2028-\u202e\u2060-\u206f\ufeff\ufff9-\ufffb"
    "\ud800-\udfff\U0001d173-\U0001d17a\U000e0000-\U000e007f]"
)
_BLANKS = "\t\n\x0b\x0c\r\x85\u2028\u2029"


def plain(text: str, kept: str = "") -> str:
    """The text with a blank for each sign that parts words and without the other acting signs, but those in `kept`."""
    if _ACTING.search(text) is None:
        return text

    def shown(sign: re.Match[str]) -> str:
        return sign[0] if sign[0] in kept else " " if sign[0] in _BLANKS else ""

    return _ACTING.sub(shown, text)
