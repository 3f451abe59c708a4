"""The shipped examples worked through once for all the tests of a process: what they are asked is never changed."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from terrain.flow import Study, run_site
from terrain.site.read import read_site

ROOT = Path(__file__).resolve().parents[2]


@cache
def study_of(yard: str, resolution: float | None = None) -> Study:
    """`alder-bend` or `larkspur-rise` as shipped, or on cells of `resolution` metres."""
    return run_site(read_site(ROOT / "examples" / yard / "site.toml"), resolution=resolution)
