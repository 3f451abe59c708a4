"""The plain least-bent surface beside the form in use, on the same beds: the signs, and pictures of both.

Run `PYTHONPATH=.:tests/look:tests/laws .venv/bin/python tests/shape/form_compared.py` for the table of DEVELOPERS.md;
with the name of a folder it draws both forms of a shipped example there.
"""

from __future__ import annotations

import sys
from collections import Counter
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from unittest import mock

import numpy as np
from look_outlines import FAMILIES, random_outline
from random_sites import ground_on, site_with

from terrain.grid import Array, Grid
from terrain.ground.model import Ground
from terrain.look.look import natural_look
from terrain.look.model import Look
from terrain.shape import prepared
from terrain.shape.berm import shape_berm
from terrain.shape.form import Ridge, ridge_line
from terrain.shape.spine import spine_of
from terrain.site.model import Berm, CrestPoint, Site
from terrain.site.read import read_site

BEDS = 40
LIMIT = 0.25
# Tops along the spine: share of its length, share of the way to the edge beside it, share of the height.
TOPS = ((0.12, 0.15, 0.75), (0.45, -0.15, 1.0), (0.85, 0.1, 0.55))

RidgeOf = Callable[[Array, float, float | None], Ridge]


def no_ridge(crest: Array, breadth: float, saddle: float | None = None) -> Ridge:
    """The plain least-bent surface: held at the high points and along the edge, and nowhere else."""
    return Ridge(crest, np.eye(len(crest)))


def bed(seed: int) -> tuple[Site, Ground]:
    """A bed of any outline on gently falling ground, three tops along it at two thirds of what the limit allows."""
    rng = np.random.default_rng([23, seed])
    outline = random_outline(rng, rng.uniform(1.5, 3.5), FAMILIES[seed % len(FAMILIES)]).polygon
    west, south, east, north = outline.bounds
    cell = max(east - west, north - south) / 90
    nx, ny = (int(size / cell) + 13 for size in (east - west, north - south))
    grid = Grid(west - 6 * cell, south - 6 * cell, cell, nx, ny)
    spine = spine_of(outline)
    high = 0.67 * LIMIT * float(spine.clearance.max())
    crest = tuple(CrestPoint(*spine.place(along, off), share * high) for along, off, share in TOPS)
    site = site_with(outline, [(0.0, 0.0, 1.0)], LIMIT)
    fall = rng.uniform(-0.03, 0.03, 2)
    ground = ground_on(grid, 50.0 + fall[0] * grid.x[None, :] + fall[1] * grid.y[:, None])
    return replace(site, berm=Berm(LIMIT, crest)), ground


def look_at(seed: int, ridge: RidgeOf) -> Look:
    """The signs of the bed of that seed, its crest carried down with that ridge."""
    site, ground = bed(seed)
    with mock.patch.object(prepared, "ridge_line", ridge):
        proposal = shape_berm(site, ground)
    return natural_look(ground.grid, ground.elevation, proposal.elevation, site.bed.outline)


def row(name: str, ridge: RidgeOf) -> str:
    """One line of the table."""
    looks = [look_at(seed, ridge) for seed in range(BEDS)]
    natural = sum(look.reads_natural for look in looks)
    present = Counter(sign.sign for look in looks for sign in look.signs if sign.present)
    signs = ", ".join(f"{sign} {count}" for sign, count in sorted(present.items())) or "-"
    nearest = float(np.median([max(sign.value / sign.bound for sign in look.signs) for look in looks]))
    return f"| {name} | {natural} of {BEDS} | {signs} | {nearest:.2f} |"


def as_markdown() -> str:
    """The table for DEVELOPERS.md."""
    return "\n".join(
        [
            "| form | reads natural | signs present (beds) | nearest sign over its bound (median) |",
            "|---|--:|---|--:|",
            row("plain least-bent surface", no_ridge),
            row("held along the ridge (in use)", ridge_line),
        ]
    )


def draw(folder: Path) -> None:
    """suggest.png of the first shipped example: the plain least-bent surface beside the form in use."""
    from terrain.flow import run_site
    from viewer.pictures import Frame, draw_contact_sheet

    site = read_site(Path(__file__).resolve().parents[2] / "examples/alder-bend/site.toml")
    with mock.patch.object(prepared, "ridge_line", no_ridge):
        plain = run_site(site)
    frames = (Frame("in use", run_site(site)), Frame("plain least-bent", plain))
    folder.mkdir(parents=True, exist_ok=True)
    draw_contact_sheet(frames, folder)


if __name__ == "__main__":
    print(as_markdown())
    for name in sys.argv[1:]:
        draw(Path(name))
