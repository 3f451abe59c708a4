"""Reading a point cloud against what the library that unpacks it takes for its points, in one run.

Two references: the bare read, all places and classes of the file as arrays, which takes memory for every point; and
going through the points a few at a time, each number looked at once and forgotten, which nothing that keeps can match.
"""

from __future__ import annotations

import os
import time
from multiprocessing import get_context
from pathlib import Path
from statistics import median

import numpy as np
import pytest
from sizes import Size

from terrain.survey.measured import ReadOptions
from terrain.survey.readers import cloud

laspy = pytest.importorskip("laspy")
resource = pytest.importorskip("resource")
pytestmark = pytest.mark.benchmark
MILLIONS = int(os.environ.get("CLOUD_MILLIONS", "4"))
PART = 1_000_000, 200_000  # points written at a time: in full, small


def written(path: Path, parts: int, points: int) -> Path:
    header = laspy.LasHeader(point_format=6, version="1.4")
    header.scales = [0.001] * 3
    rng = np.random.default_rng(1)
    with laspy.open(path, mode="w", header=header) as file:
        for _ in range(parts):
            part = laspy.ScaleAwarePointRecord.zeros(points, header=header)
            part.x, part.y = rng.uniform(0.0, 60.0, (2, points))
            part.z = 100.0 + 0.02 * np.asarray(part.x) + rng.normal(0.0, 0.02, points)
            part.classification = np.where(rng.random(points) < 0.3, 5, 2)
            file.write_points(part)
    return path


def gone_through(path: Path) -> None:
    """The lesser reference: every place and class is looked at once."""
    with laspy.open(path) as reader:
        for chunk in reader.chunk_iterator(50_000):
            for axis in "xyz":
                np.asarray(chunk[axis]).sum()
            np.count_nonzero(np.asarray(chunk.classification) == 2)


def bare_read(path: Path) -> None:
    """The reference: every place and class as arrays, by the library alone."""
    cloud_of_points = laspy.read(path)
    [np.asarray(getattr(cloud_of_points, name)) for name in ("x", "y", "z", "classification")]


def read(path: Path) -> None:
    cloud.read(path, path.name, ReadOptions("m", "m"))


WORK = {"ours": read, "bare read": bare_read, "gone through": gone_through}


def _cost(work: str, path: Path, told: object) -> None:
    WORK[work](path)  # a first time, which loads what is needed
    took = []
    for _ in range(5):
        began = time.process_time()
        WORK[work](path)
        took.append(time.process_time() - began)
    told.put((median(took), resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024))  # type: ignore[attr-defined]


def cost(work: str, path: Path) -> tuple[float, float]:
    """Seconds of the processor and megabytes, in a process of its own."""
    spawned = get_context("spawn")
    told = spawned.Queue()
    process = spawned.Process(target=_cost, args=(work, path, told))
    process.start()
    seconds, memory = told.get(timeout=600)
    process.join()
    return seconds, memory


def test_a_cloud_is_read_within_a_few_times_of_a_bare_read_and_in_memory_that_does_not_grow(
    tmp_path: Path, size: Size
) -> None:
    points = size.of(*PART)
    small, large = written(tmp_path / "one.las", 1, points), written(tmp_path / "more.las", MILLIONS, points)
    bare, of_all = cost("bare read", large)
    through, _ = cost("gone through", large)
    ours, memory = cost("ours", large)
    _, memory_of_one = cost("ours", small)
    print(
        f"\n{MILLIONS * points:,} points: ours {ours:.2f} s, {memory:.0f} MB; bare read {bare:.2f} s, {of_all:.0f} MB, "
        f"ratio {ours / bare:.2f}; gone through {through:.2f} s, ratio {ours / through:.1f}; "
        f"{points:,}: {memory_of_one:.0f} MB"
    )
    assert ours <= size.most(2.5) * bare
    assert ours <= size.most(12.0) * through
    assert memory <= 400.0
    assert memory <= 1.15 * memory_of_one
