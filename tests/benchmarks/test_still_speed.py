"""Speed of a still of 1600 by 900 pixels of the first example, held against a plain filter of it in the same run.

Run with `pytest -m benchmark tests/benchmarks/test_still_speed.py -s`.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from pathlib import Path
from statistics import median

import pytest
from scipy.ndimage import gaussian_filter
from sizes import Size

from terrain.flow import run_site
from terrain.site.read import read_site
from viewer.page.subject import subject_of
from viewer.pictures.overview import SIZE, Overview
from viewer.still.still import draw_still

pytestmark = pytest.mark.benchmark
ROUNDS = 5, 1  # in full, small


def work_of(job: Callable[[], object], rounds: int) -> float:
    """Median processor time of a job after a warm-up, seconds: other programs on the machine count little."""
    times = []
    for _ in range(rounds + 1):
        start = time.process_time()
        job()
        times.append(time.process_time() - start)
    return median(times[1:])


def test_a_still_costs_a_few_times_a_filter_of_its_pixels(root: Path, size: Size) -> None:
    seen = Overview(subject_of(run_site(read_site(root / "examples/alder-bend/site.toml"))))
    camera = seen.camera
    stage = seen.stage(True)
    pixels = draw_still(stage, camera).pixels.astype(float)
    assert pixels.shape == (SIZE[1], SIZE[0], 3)
    ours = work_of(lambda: draw_still(stage, camera), size.of(*ROUNDS))
    plain = work_of(lambda: gaussian_filter(pixels, (6.0, 6.0, 0.0)), size.of(*ROUNDS))
    triangles = sum(len(body.triangles) for body in stage.bodies)
    print(
        f"\nstill of {triangles:,} triangles: {ours:.2f} s; a Gaussian filter of its pixels {plain:.2f} s; "
        f"{ours / plain:.1f} times"
    )
    assert ours < size.most(8.0) * plain
