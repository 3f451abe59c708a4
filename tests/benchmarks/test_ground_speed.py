"""Shots to nodes with deviation: time beside other libraries in the same run, growth with the shots, and memory."""

from __future__ import annotations

import subprocess
import sys
import time
from collections.abc import Callable
from functools import partial
from pathlib import Path

import numpy as np
import pytest
from ground_references import Array, gaussian_process_with_deviation, pykrige_with_deviation
from scipy.ndimage import map_coordinates
from sizes import Size

from terrain import interpolate

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "ground"))
from real_ground import sample_terrain, terrain_crop

pytestmark = pytest.mark.benchmark
TIMES_FASTER = 10.0
MOST_EXPONENT, MOST_AT_1500 = 1.1, 1.0  # seconds of processor time
SURVEYS = 5, 1  # in full, small
COUNTS = (50, 150, 500, 1500, 5000, 15_000, 50_000, 100_000), (50, 150, 500, 1500, 5000)
GIBIBYTE = 1024**3


def survey(seed: int = 0, side: int = 500) -> tuple[Array, Array]:
    """200 shots on real terrain, and a grid of 500 by 500 nodes over them, or of another side."""
    random = np.random.default_rng([200, seed])
    every = terrain_crop(random, 120, 160)
    shots = every[random.permutation(len(every))[:200]]
    low, high = shots[:, :2].min(axis=0), shots[:, :2].max(axis=0)
    x, y = np.meshgrid(*(np.linspace(low[k], high[k], side) for k in (0, 1)))
    return shots, np.column_stack([x.ravel(), y.ravel()])


def seconds(run: Callable[[], object], rounds: int) -> float:
    """The least of some rounds: what the machine's other work adds is no part of the method."""
    spent = []
    for _ in range(rounds):
        began = time.perf_counter()
        run()
        spent.append(time.perf_counter() - began)
    return min(spent)


def test_ten_times_faster_than_the_libraries_that_state_a_deviation(size: Size) -> None:
    count, side = size.of(*SURVEYS), size.of(500, 60)
    surveys = [survey(seed, side) for seed in range(count)]
    interpolate(surveys[0][0], surveys[0][1][:500])  # imports
    mine = sum(seconds(partial(interpolate, shots, nodes), 4) for shots, nodes in surveys) / count
    print(f"\n200 shots to {side * side:,} nodes with deviation, {count} surveys\n  hummock, auto {mine:.3f} s")
    others: dict[str, tuple[Callable[..., object], bool]] = {
        "PyKrige, vectorized (its default)": (pykrige_with_deviation, True),
        "PyKrige, compiled backend": (partial(pykrige_with_deviation, backend="C"), False),
        "scikit-learn, Gaussian process": (gaussian_process_with_deviation, True),
    }
    for name, (run, held) in others.items():
        spent = sum(seconds(partial(run, shots, nodes), 1) for shots, nodes in surveys) / count
        print(f"  {name} {spent:.2f} s, {spent / mine:.1f} times ours")
        if held:
            assert size.most(spent) > TIMES_FASTER * mine


def shots_and_grid(count: int, nodes: int) -> tuple[Array, Array]:
    """Any number of shots on real terrain, read between its own by planes, and a grid over them."""
    random = np.random.default_rng([count, nodes])
    terrain = sample_terrain()
    share = min(1.0, 0.05 + 0.9 * np.sqrt(count / 20_000))
    rows, columns = (random.uniform(0.0, share * (size - 1), count) for size in terrain.shape)
    heights = map_coordinates(terrain.astype(float), [rows, columns], order=1)
    shots = np.column_stack([74.5 * columns, 92.5 * rows, heights])
    side = int(np.sqrt(nodes))
    axes = (np.linspace(shots[:, k].min(), shots[:, k].max(), side) for k in (0, 1))
    return shots, np.column_stack([part.ravel() for part in np.meshgrid(*axes)])


def processor_seconds(run: Callable[[], object], rounds: int) -> float:
    """Least processor time of some rounds, seconds: a busy machine does not count."""
    spent = []
    for _ in range(rounds):
        began = time.process_time()
        run()
        spent.append(time.process_time() - began)
    return min(spent)


def test_2000_shots_to_a_million_nodes_ten_times_faster_than_32_nearest_compiled(size: Size) -> None:
    """PyKrige's compiled loop over the 32 nearest shots, on a tenth of the nodes: its time is theirs times ten."""
    library = pytest.importorskip("pykrige.ok")
    shots, nodes = shots_and_grid(2000, size.of(1_000_000, 40_000))
    some = nodes[::10]
    mine = processor_seconds(lambda: interpolate(shots, nodes), 4)
    peer = library.OrdinaryKriging(*shots.T, variogram_model="spherical", nlags=12)
    theirs = 10.0 * processor_seconds(
        lambda: peer.execute("points", some[:, 0], some[:, 1], backend="C", n_closest_points=32), 2
    )
    print(f"\n2,000 shots to {len(nodes):,} nodes: {mine:.2f} s, 32 nearest {theirs:.1f} s, {theirs / mine:.1f} times")
    assert size.most(theirs) > TIMES_FASTER * mine


def test_time_grows_no_faster_than_the_shots(size: Size) -> None:
    """The exponent is that of the straight line through the logs of shots and of processor time."""
    counts, nodes = size.of(*COUNTS), size.of(93_000, 20_000)
    interpolate(*shots_and_grid(600, 1000))  # imports
    spent = [processor_seconds(partial(interpolate, *shots_and_grid(count, nodes)), 2) for count in counts]
    exponent = float(np.polyfit(np.log(counts), np.log(spent), 1)[0])
    told = ", ".join(f"{count:,}: {one:.2f} s" for count, one in zip(counts, spent, strict=True))
    print(f"\n{nodes:,} nodes, {told}; exponent {exponent:.2f}")
    assert exponent < MOST_EXPONENT
    assert spent[counts.index(1500)] < MOST_AT_1500


def test_memory_stays_below_a_gibibyte() -> None:
    """Peak of a whole process, the libraries included."""
    if not Path("/proc/self/status").exists():
        pytest.skip("the peak is read as Linux states it")
    here = Path(__file__).resolve()
    code = (
        f"import sys; sys.path[:0] = {[str(here.parent), str(here.parents[1] / 'ground'), str(here.parents[2])]!r}\n"
        "from pathlib import Path\nfrom test_ground_speed import survey\nfrom terrain import interpolate\n"
        "peak = lambda: Path('/proc/self/status').read_text().split('VmHWM:')[1].split()[0]\n"
        "shots, nodes = survey()\nbefore = peak()\ninterpolate(shots, nodes)\nprint(before, peak())\n"
    )
    ended = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    before, peak = (1024 * int(word) for word in ended.stdout.split())
    print(f"\npeak memory {peak / 2**20:.0f} MiB, {(peak - before) / 2**20:.0f} MiB of it for the ground")
    assert peak < GIBIBYTE
