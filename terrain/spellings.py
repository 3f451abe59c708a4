"""Spellings of units that people write, each with the unit that it stands for, and what that is in SI units."""

from __future__ import annotations

LENGTHS = {
    **dict.fromkeys(("in", "in.", "inch", "inches", '"', "″", "”", "''"), "inch"),
    **dict.fromkeys(("ft", "ft.", "foot", "feet", "'", "′", "’"), "foot"),
    **dict.fromkeys(("yd", "yard", "yards"), "yard"),
    **dict.fromkeys(("m", "metre", "metres", "meter", "meters"), "metre"),
    **dict.fromkeys(("cm", "centimetre", "centimetres", "centimeter", "centimeters"), "centimetre"),
    **dict.fromkeys(("mm", "millimetre", "millimetres", "millimeter", "millimeters"), "millimetre"),
}
VOLUMES = {
    **dict.fromkeys(("cu yd", "cubic yard", "cubic yards", "yd3", "yd³", "yd^3", "cy"), "yard ** 3"),
    **dict.fromkeys(("cu ft", "cubic foot", "cubic feet", "ft3", "ft³", "ft^3", "cf"), "foot ** 3"),
    **dict.fromkeys(
        ("m3", "m³", "m^3", "cu m", "cubic metre", "cubic metres", "cubic meter", "cubic meters"),
        "metre ** 3",
    ),
    **dict.fromkeys(("l", "litre", "litres", "liter", "liters"), "litre"),
}
WEIGHTS = {
    **dict.fromkeys(("lb", "lb.", "lbs", "pound", "pounds"), "pound"),
    **dict.fromkeys(("short ton", "short tons"), "short_ton"),
    **dict.fromkeys(("kg", "kilogram", "kilograms"), "kilogram"),
    **dict.fromkeys(("t", "tonne", "tonnes", "metric ton", "metric tons"), "metric_ton"),
}
TON = dict.fromkeys(("ton", "tons"), "short_ton")  # 2,000 lb where people count in pounds; unclear elsewhere
TIMES = {
    **dict.fromkeys(("h", "hr", "hour", "hours"), "hour"),
    **dict.fromkeys(("min", "min.", "minute", "minutes"), "minute"),
    **dict.fromkeys(("s", "sec", "second", "seconds"), "second"),
}
# In metres, m3, kilograms and seconds; all exact. The yard and the pound are defined so since 1959, the US gallon is
# 231 cubic inches: NIST Special Publication 811 (2008), appendix B.
SI = {
    **{"metre": 1.0, "centimetre": 0.01, "millimetre": 0.001, "inch": 0.0254, "foot": 0.3048, "yard": 0.9144},
    **{"metre ** 3": 1.0, "litre": 0.001, "foot ** 3": 0.028316846592, "yard ** 3": 0.764554857984},
    **{"gallon": 0.003785411784, "kilogram": 1.0, "metric_ton": 1000.0, "pound": 0.45359237, "short_ton": 907.18474},
    **{"second": 1.0, "minute": 60.0, "hour": 3600.0},
}
