"""Measures in running text, which no line may break: "10.0 cu yd", "2 ft 4 1/2 in", "96.9 %", "x 30.00"."""

from __future__ import annotations

import re

_NUMBER = r"(?:\d[\d,.]*(?: \d+/\d+)?|\d+/\d+)"
_UNIT = r"(?:cu yd|cu ft|sq ft|ft|in|yd|mm|cm|m2|m3|m|L|lb|kg|tons?|t|gal/min|gal/h|L/min|gal|%)(?!\w)"
_MEASURE = re.compile(rf"{_NUMBER} {_UNIT}(?: {_NUMBER} in(?!\w))?|\b[xy] -?{_NUMBER}")


def in_one_piece(text: str, joint: str) -> str:
    """The text with `joint` for every blank within a measure, so that lines are broken elsewhere."""
    return _MEASURE.sub(lambda found: found[0].replace(" ", joint), text)
