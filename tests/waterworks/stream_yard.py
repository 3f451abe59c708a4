"""A small invented yard with a stream, as a site folder in feet or in metres: one and the same ground, to 1 mm."""

from __future__ import annotations

from pathlib import Path

FOOT = 0.3048
# Lengths stand in feet; `{...}` is written in the units of the site.
TEXT = """
name = "Fern bank, invented"
units = "{units}"
[survey]
shots = "shots.csv"
[bed]
outline = [{outline}]
[berm]
max_slope = "3:1"
crest = [{crest}]
[[basin]]
name = "vault"
center = {vault}
size = ["6 ft", "5 ft"]
depth = "2 ft"
[[stream]]
name = "run"
line = [{line}]
width = "12 in"
depth = "9 in"
drops = [{drops}]
pools = [{{ at = {pool}, size = "3 ft", depth = "4 in" }}]
basin = "vault"
[water]
flow = "2400 gal/h"
lip = "18 in"
pipe = {{ length = "40 ft", size = "2 in", kind = "smooth", fittings = 5.75 }}
voids = 0.40
intake = "9 in"
[soil]
kind = "loam"
placing = "by hand"
settlement = "8 %"
payload = "{payload}"
[prices]
sheet = {sheet}
underlay = {underlay}
stone = {stone}
gravel = {gravel}
[grid]
cell = "1 ft"
"""


def write_yard(folder: Path, units: str = "ft") -> Path:
    """Write the yard into an empty folder; answers its site file."""
    size = 1.0 if units == "ft" else FOOT

    def place(x: float, y: float) -> str:
        return f"[{x * size:.6f}, {y * size:.6f}]"

    def step(x: float, y: float, high: str) -> str:
        return f'[{x * size:.6f}, {y * size:.6f}, "{high}"]'

    def places(*points: tuple[float, float]) -> str:
        return ", ".join(place(*point) for point in points)

    rows = ["point,x,y,elevation"]
    rows += [
        f"{number},{x * size:.6f},{y * size:.6f},{(100.0 - 0.01 * y - 0.015 * x) * size:.6f}"
        for number, (x, y) in enumerate(((x, y) for x in range(0, 61, 10) for y in range(0, 41, 10)), start=1)
    ]
    text = TEXT.format(
        units=units,
        outline=places((4, 4), (40, 4), (44, 20), (40, 36), (4, 36)),
        crest=", ".join((step(16, 20, "44 in"), step(22, 20, "40 in"))),
        vault=place(50, 20),
        line=places((20, 20), (26, 21), (33, 19), (46, 20)),
        drops=", ".join((step(25, 20.8, "8 in"), step(30, 19.9, "8 in"), step(35, 19.2, "6 in"))),
        pool=place(37, 19.3),
        payload="10 ton" if units == "ft" else "9071.8474 kg",
        sheet=1.2 if units == "ft" else 1.2 / FOOT**2,
        underlay=0.4 if units == "ft" else 0.4 / FOOT**2,
        stone=300.0 if units == "ft" else 300.0 / 0.90718474,
        gravel=60.0 if units == "ft" else 60.0 / 0.9144**3,
    )
    (folder / "shots.csv").write_text("\n".join(rows) + "\n", encoding="utf-8")
    (folder / "site.toml").write_text(text, encoding="utf-8")
    return folder / "site.toml"
