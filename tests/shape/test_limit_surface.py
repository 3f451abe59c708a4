"""The limit surface against brute force, and the easing against its promises."""

from __future__ import annotations

import numpy as np
import pytest

from terrain.numerics.envelope import limit_surface
from terrain.numerics.local_average import easing


def brute_force(wish: np.ndarray, active: np.ndarray, edge: np.ndarray, slope: float) -> np.ndarray:
    """Second, plain implementation: every node against every source."""
    rows, columns = np.nonzero(active & np.isfinite(wish))
    sources = np.vstack([edge, np.column_stack([columns, rows, wish[rows, columns]])])
    out = np.full(wish.shape, np.inf)
    for j, i in zip(*np.nonzero(active), strict=True):
        out[j, i] = (sources[:, 2] + slope * np.hypot(sources[:, 0] - i, sources[:, 1] - j)).min()
    return out


def kidney(n: int) -> tuple[np.ndarray, np.ndarray]:
    """Active nodes of a kidney on an n x n grid and its edge as (m, 2) columns and rows."""
    angle = np.linspace(0, 2 * np.pi, 8 * n, endpoint=False)
    radius = n * (0.36 + 0.09 * np.cos(2 * angle) + 0.05 * np.sin(3 * angle))
    edge = np.column_stack([n / 2 + radius * np.cos(angle), n / 2 + radius * np.sin(angle)])
    x, y = np.meshgrid(np.arange(n), np.arange(n))
    turn = np.arctan2(y - n / 2, x - n / 2)
    inside = np.hypot(x - n / 2, y - n / 2) < n * (0.36 + 0.09 * np.cos(2 * turn) + 0.05 * np.sin(3 * turn))
    return inside, edge


@pytest.mark.parametrize("wished", [np.inf, 3.0])
def test_sweeps_give_the_brute_force_envelope(wished: float) -> None:
    inside, edge = kidney(60)
    level = 0.04 * edge[:, 0] + 0.3 * np.sin(edge[:, 1] / 9)
    points = np.column_stack([edge, level])
    x, y = np.meshgrid(np.arange(60), np.arange(60))
    wish = np.where(inside, wished + 0.04 * x + np.cos(y / 5), np.inf)
    got = limit_surface(wish, inside, points, 0.25)
    expected = brute_force(wish, inside, points, 0.25)
    error = got[inside] - expected[inside]
    assert error.min() >= -1e-12  # one-sided: never below the exact minimum
    assert error.max() < 0.15 * 0.25  # a sixth of the rise over one cell, whatever the size of the grid
    assert np.quantile(error, 0.95) < 0.05 * 0.25
    assert not np.isfinite(got[~inside]).any()


def test_pull_holds_one_side_to_half_the_slope_and_no_side_to_more_than_the_slope() -> None:
    columns = np.arange(-0.5, 100.6, 0.5)
    south = np.column_stack([columns, np.full(columns.size, -0.5), np.zeros(columns.size)])
    north = south + np.array([0.0, 41.0, 0.0])
    active = np.ones((41, 101), dtype=bool)
    level = limit_surface(np.full((41, 101), np.inf), active, np.vstack([south, north]), 0.25, pull=(0.0, -1 / 3))
    across = np.diff(level[:, 50])
    assert across[5] == pytest.approx(0.125, rel=1e-3)  # looks south: gentle
    assert across[-5] == pytest.approx(-0.25, rel=1e-3)  # looks north: the limit


def test_easing_keeps_volume_and_reaches_no_further_than_its_radius() -> None:
    fill = np.zeros((80, 90))
    fill[30:50, 30:60] = 1.0
    eased = easing(fill.shape, 0.1, 0.75).apply(fill)
    assert eased.sum() == pytest.approx(fill.sum(), rel=1e-12)
    rows, columns = np.nonzero(eased > 1e-12)
    assert rows.min() >= 30 - 7
    assert rows.max() <= 49 + 7
    assert columns.min() >= 30 - 7
    assert columns.max() <= 59 + 7


def test_easing_at_one_node_is_that_of_the_whole() -> None:
    fill = np.random.default_rng(2).uniform(0.0, 1.0, (23, 31))
    rounded = easing(fill.shape, 0.1, 0.43)
    whole = rounded.apply(fill)
    for row, column in ((0, 0), (22, 30), (3, 29), (11, 15)):
        assert rounded.at(fill, row, column) == pytest.approx(whole[row, column], abs=1e-12)


def test_easing_leaves_a_plane_as_it_is_and_rounds_a_crease() -> None:
    x = np.arange(120) * 0.1
    plane = np.tile(0.2 * x, (60, 1))
    inner = np.s_[20:40, 20:100]
    assert np.abs(easing(plane.shape, 0.1, 1.0).apply(plane) - plane)[inner].max() < 1e-12
    roof = np.tile(0.25 * (6 - np.abs(x - 6)), (60, 1))
    eased = easing(roof.shape, 0.1, 1.0).apply(roof)
    slope = np.diff(eased[30]) / 0.1
    assert np.abs(slope[20:100]).max() <= 0.25 + 1e-12
    assert np.abs(np.diff(slope[20:100])).max() < 0.25 * np.abs(np.diff(np.diff(roof[30]) / 0.1)).max()


def test_easing_under_a_cell_changes_nothing() -> None:
    fill = np.random.default_rng(0).uniform(size=(10, 10))
    assert easing(fill.shape, 0.1, 0.05).apply(fill) is fill


class AskedEveryTime:
    """The sweeps written out: each node asks four neighbours in each sweep, whether or not they have changed."""

    def __init__(self, edge: np.ndarray, rise: float, pull: tuple[float, float]) -> None:
        self.sources, self.rise, self.pull = [*map(tuple, edge.tolist())], rise, pull
        self.held: dict[tuple[int, int], tuple[float, int]] = {}

    def offer(self, j: int, i: int, source: int) -> None:
        x, y, z = self.sources[source]
        dx, dy = i - x, j - y
        level = z + self.rise * (np.sqrt(dx * dx + dy * dy) + self.pull[0] * dx + self.pull[1] * dy)
        if level < self.held.get((j, i), (np.inf, -1))[0]:
            self.held[j, i] = level, source

    def begin(self, wish: np.ndarray, nodes: list[tuple[int, int]]) -> None:
        edge = [(k, int(np.floor(x)), int(np.floor(y))) for k, (x, y, _) in enumerate(self.sources)]
        for j, i in nodes:
            if np.isfinite(wish[j, i]):
                self.sources.append((i, j, wish[j, i]))
                self.held[j, i] = wish[j, i], len(self.sources) - 1
        for k, x, y in edge:
            for j, i in nodes:
                if x - 1 <= i < x + 3 and y - 1 <= j < y + 3:
                    self.offer(j, i, k)

    def sweep(self, nodes: list[tuple[int, int]], dj: int, di: int) -> None:
        for j, i in sorted(nodes, key=lambda node: (dj * node[0], di * node[1])):
            for b, a in ((j - dj, i - di), (j - dj, i), (j - dj, i + di), (j, i - di)):
                if (b, a) in self.held:
                    self.offer(j, i, self.held[b, a][1])


@pytest.mark.parametrize("seed", range(6))
def test_a_neighbour_that_is_not_asked_again_had_nothing_to_offer(seed: int) -> None:
    chance = np.random.default_rng(seed)
    active = chance.uniform(size=(17, 23)) < 0.9
    wish = np.where(
        chance.uniform(size=active.shape) < (0.0, 0.2, 0.9)[seed % 3], chance.uniform(0, 4, active.shape), np.inf
    )
    edge = np.column_stack([chance.uniform(0, 22, 30), chance.uniform(0, 16, 30), chance.uniform(0, 1, 30)])
    pull = (0.0, 0.0) if seed < 3 else (0.2, -0.3)
    plain = AskedEveryTime(edge, 0.3 / (1.0 + float(np.hypot(*pull))), pull)
    nodes = [(int(j), int(i)) for j, i in np.argwhere(active)]
    plain.begin(wish, nodes)
    for dj, di in 2 * ((1, 1), (1, -1), (-1, 1), (-1, -1)):
        plain.sweep(nodes, dj, di)
    found = limit_surface(wish, active, edge, 0.3, pull=pull)
    assert [found[node] for node in nodes] == pytest.approx(
        [plain.held.get(node, (np.inf,))[0] for node in nodes], abs=1e-9
    )
