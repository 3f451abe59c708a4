"""Yards written to folders as site files, for the tests that run the real command on them."""

from __future__ import annotations

import csv
import math
from collections.abc import Iterable
from pathlib import Path

import numpy as np
import pandas
import shapely
from shapely import affinity
from shapely.geometry import Point, Polygon

from terrain.files.manifest import MANIFEST
from terrain.files.set_check import check_set
from terrain.site.model import Site
from terrain.tables import guarded

METRES = {"ft": 0.3048, "m": 1.0}


def results(folder: Path) -> set[str]:
    """Names of the files in a folder whose sets of results must be whole, without the manifest that says so."""
    assert check_set(folder).whole
    for path in folder.glob("*.csv"):
        check_table(path)
    return {path.name for path in folder.iterdir()} - {MANIFEST}


def check_table(path: Path) -> None:
    """Every CSV that a command writes is read without options by a common reader, and runs nothing in a spreadsheet."""
    read = pandas.read_csv(path)
    assert len(read) > 0
    assert not any(str(head).startswith("Unnamed") for head in read.columns)
    with path.open(encoding="utf-8", newline="") as file:
        rows = list(csv.reader(file))
    assert len(rows) == len(read) + 1
    for cell in (cell for row in rows for cell in row):
        assert cell == guarded(cell) or float(cell) is not None


def write_table(path: Path, header: str, rows: Iterable[Iterable[float]]) -> None:
    """A table whose figures read back as the same doubles."""
    lines = [header, *(",".join(repr(float(value)) for value in row) for row in rows)]
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")


def ellipse(centre: tuple[float, float], half: tuple[float, float], turn: float = 0.0) -> Polygon:
    """An oval bed line of 48 corners; centre and half sizes in any one unit, turn in degrees."""
    oval = affinity.scale(Point(centre).buffer(1.0, quad_segs=12), *half)
    return affinity.rotate(oval, turn)


def write_berm(folder: Path, shots: np.ndarray, bed: Polygon, berm: str, accuracy: str) -> Path:
    """A yard in feet with a bed and nothing else, on (n, 3) shots in feet; returns the site file."""
    folder.mkdir(parents=True, exist_ok=True)
    write_table(folder / "shots.csv", "x,y,elevation", shots)
    write_table(folder / "bed.csv", "x,y", bed.exterior.coords[:-1])
    site = f"""
name = "test berm"
units = "ft"
[survey]
shots = "shots.csv"
accuracy = "{accuracy}"
[bed]
outline = "bed.csv"
[berm]
{berm}
[soil]
truck = "10 cu yd"
"""
    (folder / "site.toml").write_text(site, encoding="utf-8")
    return folder / "site.toml"


def moved(points: np.ndarray, turn: float, shift: float) -> np.ndarray:
    """(n, 2) points in metres turned about the origin by degrees, then shifted east and north by metres."""
    cos, sin = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    return points @ np.array([[cos, sin], [-sin, cos]]) + shift


def write_again(site: Site, folder: Path, units: str, turn: float = 0.0, shift: float = 0.0) -> Path:
    """The same yard in other units, turned by degrees and shifted by metres; returns its site file."""
    folder.mkdir(parents=True)

    def at(points: np.ndarray) -> list[list[float]]:
        return (moved(np.atleast_2d(points), turn, shift) / METRES[units]).tolist()

    def ring(outline: Polygon) -> list[list[float]]:
        return at(shapely.get_coordinates(outline.exterior)[:-1])

    def metres(value: float) -> str:
        return f'"{value!r} m"'

    plan = at(site.survey.shots[:, :2])
    heights = site.survey.shots[:, 2] / METRES[units]
    write_table(folder / "shots.csv", "x,y,elevation", np.column_stack([plan, heights]))
    rows = [f'name = "{site.name}"', f'units = "{units}"']
    rows += ["[survey]", 'shots = "shots.csv"', f"accuracy = {metres(site.survey.accuracy)}"]
    rows += ["[bed]", f"outline = {ring(site.bed.outline)}"]
    rows += [f"sod = {metres(site.bed.sod)}", f"mulch = {metres(site.bed.mulch)}"]
    for tree in site.tree:
        rows += ["[[tree]]", f'name = "{tree.name}"', f"at = {at(np.array(tree.at))[0]}"]
        rows += [f"trunk = {metres(tree.trunk)}", f"flare = {metres(tree.flare)}"]
        rows += [f"keep_off = {metres(tree.keep_off)}"] if tree.keep_off is not None else []
    for area in site.keep_clear:
        rows += ["[[keep_clear]]", f'name = "{area.name}"', f"outline = {ring(area.outline)}"]
    crest = [
        f"[{place[0]!r}, {place[1]!r}, {metres(point.height)}]"
        for point in site.berm.crest
        for place in at(np.array([point.x, point.y]))
    ]
    rows += ["[berm]", f"max_slope = {site.berm.max_slope!r}", f"crest = [{', '.join(crest)}]"]
    rows += [f"toe = {metres(site.berm.toe)}"] if site.berm.toe is not None else []
    rows += ["[soil]", f'kind = "{site.soil.kind}"', f"settlement = {site.soil.settlement!r}"]
    rows += [f'placing = "{site.soil.placing}"'] if site.soil.placing else []
    (folder / "site.toml").write_text("\n".join(rows) + "\n", encoding="utf-8")
    return folder / "site.toml"
