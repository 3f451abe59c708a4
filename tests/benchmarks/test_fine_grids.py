"""What a fine grid takes before anything is drawn, against what is said beforehand, in one run.

Run with `pytest -m benchmark tests/benchmarks/test_fine_grids.py -s`; `FINE_NODES=3700000` tries the finest.
"""

from __future__ import annotations

import os
import re
import time
from dataclasses import replace
from multiprocessing import get_context
from pathlib import Path

import pytest
from sizes import Size

from terrain.flow import run_site
from terrain.ground.yard import grid_words, yard_grid
from terrain.site.model import GridSpec, Site
from terrain.site.read import read_site

resource = pytest.importorskip("resource")
pytestmark = pytest.mark.benchmark
NODES = int(os.environ.get("FINE_NODES", "600000"))
FEW = 40_000  # at a small size, where nothing is said beforehand
MOST = 2.0 * 2**30  # bytes that the finest grid may take


def _cost(site: Site, told: object) -> None:
    began = time.process_time()
    run_site(site)
    used = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024.0
    told.put((time.process_time() - began, used))  # type: ignore[attr-defined]


def test_a_fine_grid_takes_what_is_said_beforehand(root: Path, size: Size) -> None:
    site = read_site(root / "examples" / "alder-bend" / "site.toml")
    grid = yard_grid(site)
    cell = grid.cell * (grid.nx * grid.ny / size.of(NODES, FEW)) ** 0.5
    fine = replace(site, grid=GridSpec(cell=cell))
    said = grid_words(fine)
    found = re.search(r"([\d.,]+) nodes: about ([\d.]+) (seconds|minutes) and ([\d.]+) GB", said)
    assert size.small or found, said
    spawned = get_context("spawn")
    told = spawned.Queue()
    process = spawned.Process(target=_cost, args=(fine, told))
    process.start()
    seconds, used = told.get(timeout=600)
    process.join()
    print(f"\ncell {cell:.3f} m: {seconds:.1f} s of the processor, {used / 1e9:.2f} GB; said: {said}")
    assert used <= MOST
    assert found is None or 0.7 * used <= float(found[4]) * 1e9 <= 1.4 * used
