"""A small yard that every command works through in a moment: a bump of soil on a gentle plane, with one tree."""

from __future__ import annotations

from pathlib import Path

SITE = """name = "{name}"
units = "m"
[survey]
shots = "shots.csv"
accuracy = "1 cm"
[bed]
outline = [[2, 2], [6, 2], [6, 5], [2, 5]]
sod = "0 cm"
[[tree]]
name = "oak"
at = [8.5, 6.5]
trunk = "20 cm"
flare = "20 cm"
keep_off = "50 cm"
[berm]
max_slope = "4:1"
crest = [[4, 3.5, "20 cm"]]
[grid]
cell = "14 cm"
"""


def small_yard(folder: Path, name: str = "small yard") -> Path:
    """Write the yard into a folder of its own; answers its site file."""
    folder.mkdir(parents=True, exist_ok=True)
    rows = [f"{x},{y},{100 + 0.02 * x + 0.01 * y:.3f}" for x in range(0, 11, 2) for y in range(0, 9, 2)]
    (folder / "shots.csv").write_text("\n".join(["x,y,elevation", *rows]) + "\n", encoding="utf-8")
    (folder / "site.toml").write_text(SITE.format(name=name), encoding="utf-8")
    return folder / "site.toml"
