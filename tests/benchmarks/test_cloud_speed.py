"""Reading a point cloud against going through its points with the library that unpacks them, in one run."""

from __future__ import annotations

import os
import time
from multiprocessing import get_context
from pathlib import Path

import numpy as np
import pytest

from terrain.survey.measured import ReadOptions
from terrain.survey.readers import cloud

laspy = pytest.importorskip("laspy")
resource = pytest.importorskip("resource")
pytestmark = pytest.mark.benchmark
MILLIONS = int(os.environ.get("CLOUD_MILLIONS", "4"))


def written(path: Path, millions: int) -> Path:
    header = laspy.LasHeader(point_format=6, version="1.4")
    header.scales = [0.001] * 3
    rng = np.random.default_rng(1)
    with laspy.open(path, mode="w", header=header) as file:
        for _ in range(millions):
            part = laspy.ScaleAwarePointRecord.zeros(1_000_000, header=header)
            part.x, part.y = rng.uniform(0.0, 60.0, (2, 1_000_000))
            part.z = 100.0 + 0.02 * np.asarray(part.x) + rng.normal(0.0, 0.02, 1_000_000)
            part.classification = np.where(rng.random(1_000_000) < 0.3, 5, 2)
            file.write_points(part)
    return path


def gone_through(path: Path) -> None:
    """The reference: every place and class is looked at once."""
    with laspy.open(path) as reader:
        for chunk in reader.chunk_iterator(50_000):
            for axis in "xyz":
                np.asarray(chunk[axis]).sum()
            np.count_nonzero(np.asarray(chunk.classification) == 2)


def read(path: Path) -> None:
    cloud.read(path, path.name, ReadOptions("m", "m"))


def _cost(work: str, path: Path, told: object) -> None:
    read(path) if work == "read" else gone_through(path)  # a first time, which loads what is needed
    began = time.process_time()
    read(path) if work == "read" else gone_through(path)
    told.put((time.process_time() - began, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024))  # type: ignore[attr-defined]


def cost(work: str, path: Path) -> tuple[float, float]:
    """Seconds of the processor and megabytes, in a process of its own."""
    spawned = get_context("spawn")
    told = spawned.Queue()
    process = spawned.Process(target=_cost, args=(work, path, told))
    process.start()
    seconds, memory = told.get(timeout=600)
    process.join()
    return seconds, memory


def test_a_cloud_is_read_within_a_few_times_of_a_bare_read_and_in_memory_that_does_not_grow(tmp_path: Path) -> None:
    small, large = written(tmp_path / "one.las", 1), written(tmp_path / "more.las", MILLIONS)
    bare, _ = cost("bare", large)
    ours, memory = cost("read", large)
    _, memory_of_one = cost("read", small)
    print(
        f"\n{MILLIONS} million points: ours {ours:.2f} s, {memory:.0f} MB; bare {bare:.2f} s; "
        f"1 million: {memory_of_one:.0f} MB"
    )
    assert ours <= 12.0 * bare
    assert memory <= 400.0
    assert memory <= 1.15 * memory_of_one
