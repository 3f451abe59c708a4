"""The measures that the pages count with, as a module of theirs: taken from the library's one table.

`python -m viewer.web.measures` writes `assets/measures.js` anew.
"""

from __future__ import annotations

from importlib.resources import files

from terrain.units import parse_length, unit_length, unit_volume

NAME = "measures.js"


def measures_module() -> str:
    """The text of the module."""
    metres = {"FOOT": unit_length("ft"), "INCH": parse_length("1 in", "ft", "an inch")}
    cubic_metres = {"CUBIC_YARD": unit_volume("ft")}
    lines = [f"export const {name} = {value!r}; // metres\n" for name, value in metres.items()]
    lines += [f"export const {name} = {value!r}; // m3\n" for name, value in cubic_metres.items()]
    return "".join(["// Made by `python -m viewer.web.measures` from terrain/units.py.\n\n", *lines])


if __name__ == "__main__":
    with open(str(files("viewer.web") / "assets" / NAME), "w", encoding="utf-8") as file:
        file.write(measures_module())
