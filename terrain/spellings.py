"""Spellings of units that people write, each with the unit that it stands for."""

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
