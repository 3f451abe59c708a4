"""Site folders with a scanned yard: control shots with a rod to the soil, marks, and a scan in axes of its own."""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path

import numpy as np
from scanned_yards import ScannedYard

RING = np.array(
    [(4.5, 6.0), (15.5, 5.5), (16.0, 13.5), (4.0, 14.0), (10.0, 10.0), (9.5, 5.5), (10.5, 14.2), (6.5, 9.5)]
)
BED = np.array([(5.0, 7.0), (9.0, 6.2), (14.5, 6.8), (15.0, 11.0), (13.0, 13.0), (8.0, 13.2), (5.5, 11.0)])
SITE = """
name  = "scanned"
units = "m"
[survey]
shots    = "shots.csv"
accuracy = "5 mm"
{more}
[bed]
outline = {bed}
sod     = "{sod}"
mulch   = "7 cm"
[berm]
max_slope = "4:1"
crest     = {crest}
[soil]
kind = "loam"
"""
CREST = ((8.5, 9.5, 0.50), (11.5, 10.0, 0.35))


def turned(places: np.ndarray, turn: float = 2.3, shift: tuple[float, float, float] = (-7.1, 3.3, 1.6)) -> np.ndarray:
    """Places as a phone has them: turned about the plumb line, from where it began, y upward."""
    x, y, z = (places - shift).T
    east, north = x * math.cos(turn) + y * math.sin(turn), y * math.cos(turn) - x * math.sin(turn)
    return np.column_stack([east, z, -north])


def as_text(path: Path, points: np.ndarray) -> None:
    np.savetxt(path, points, fmt="%.4f")


def scanned_site(
    folder: Path,
    yard: ScannedYard,
    *,
    scan: str = 'scan = { file = "yard.xyz", marks = "marks.csv" }',
    write: Callable[[Path, np.ndarray], None] = as_text,
    name: str = "yard.xyz",
    size: float = 1.0,
    marked: int = 5,
    wide: float = 1.0,
    sod: str = "5 cm",
    laid: Callable[[np.ndarray], np.ndarray] = turned,
) -> Path:
    """A site folder; `size` times the yard is what the scan takes it for, `marked` of the shots are its marks, and
    `wide` times their usual places is where shots, bed and mound are.
    """
    chance = np.random.default_rng([yard.seed, 3])
    folder.mkdir(parents=True, exist_ok=True)
    shots = np.column_stack([wide * RING, yard.truth(wide * RING)])
    read = shots + chance.normal(0.0, 0.005, shots.shape) * (1.0, 1.0, 1.0)
    rows = [f"{'ABCDEFGH'[i]},{x:.4f},{y:.4f},{z:.4f}" for i, (x, y, z) in enumerate(read)]
    (folder / "shots.csv").write_text("\n".join(["point,x,y,elevation", *rows]) + "\n", encoding="utf-8")
    touched = laid(size * (shots + chance.normal(0.0, 0.008, shots.shape)))[:marked]
    rows = [f"{'ABCDEFGH'[i]},{x:.4f},{y:.4f},{z:.4f}" for i, (x, y, z) in enumerate(touched)]
    (folder / "marks.csv").write_text("\n".join(["point,x,y,z", *rows]) + "\n", encoding="utf-8")
    write(folder / name, laid(size * yard.points))
    crest = [[wide * x, wide * y, f"{100.0 * wide * height:.1f} cm"] for x, y, height in CREST]
    text = SITE.format(more=scan, bed=(wide * BED).tolist(), sod=sod, crest=crest)
    (folder / "site.toml").write_text(text, encoding="utf-8")
    return folder / "site.toml"
