"""What a crew reads of an as-built check."""

from __future__ import annotations

from terrain.units import Units, show_length, unit_length


def off_words(metres: float, units: Units) -> str:
    """ "2 1/4 in low", "1 in high" or "even"."""
    shown = show_length(abs(metres), units)
    if shown.startswith("0 "):
        return "even"
    return f"{shown} {'low' if metres < 0.0 else 'high'}"


def off_number(metres: float, units: Units) -> str:
    """A signed bare number for a drawing: inches to a half, or whole centimetres; "0" where it rounds to that."""
    value = 12.0 * metres / unit_length("ft") if units == "ft" else 100.0 * metres
    rounded = round(2.0 * value) / 2.0 if units == "ft" else float(round(value))
    if rounded == 0.0:
        return "0"
    return f"{'−' if rounded < 0.0 else '+'}{abs(rounded):g}"
