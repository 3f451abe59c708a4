"""Scanned yards that are not of the generator's own making: their ground is real terrain brought down to a yard, a
Gaussian field or the generator's, at several sizes, falls, noises and drifts, and the scan is off in its scale.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from scan_sites import scanned_site
from scanned_yards import ScannedYard, scanned_yard
from scipy.interpolate import RectBivariateSpline
from scipy.ndimage import gaussian_filter

from terrain.flow import Study
from terrain.numerics import correlation

Surface = Callable[[np.ndarray], np.ndarray]
OPEN = Path(__file__).resolve().parents[1] / "data" / "open_terrain.npz"
GRIDS = ("hills_cm", "range_m")
MARGIN = 4.0  # metres that a surface goes on past the yard


@dataclass(frozen=True)
class OddScan:
    """A yard, `wide` times the usual one, whose scan has `size` times its size and `marked` marks."""

    yard: ScannedYard
    wide: float
    size: float
    marked: int

    def site(self, folder: Path) -> Path:
        """Its folder, on a coarse grid; the sod is known, so that the ground is what is in doubt."""
        path = scanned_site(folder, self.yard, marked=self.marked, wide=self.wide, size=self.size, sod="5 cm +- 1 mm")
        with path.open("a", encoding="utf-8") as site:
            site.write(f'\n[grid]\ncell = "{30.0 * self.wide:.0f} cm"\n')
        return path

    def soil_taken(self, study: Study) -> float:
        """Placed soil, m3, of the mound as it is staked, built on the true ground: by the middles of the sides of each
        triangle, which is exact for a surface of the second degree (Strang and Fix 1973).
        """
        mesh = study.proposal.mesh
        corners = mesh.triangles[mesh.inside]
        sides = corners[:, [[0, 1], [1, 2], [2, 0]]]
        places, high = mesh.points[sides].mean(axis=2), mesh.proposed[sides].mean(axis=2)
        low = self.yard.truth(places.reshape(-1, 2)).reshape(high.shape) - study.site.bed.sod
        first, second = (mesh.points[corners[:, k]] - mesh.points[corners[:, 0]] for k in (1, 2))
        area = np.abs(first[:, 0] * second[:, 1] - first[:, 1] * second[:, 0]) / 2.0
        return float((area[:, None] * np.maximum(high - low, 0.0)).sum() / 3.0)


def odd_scan(seed: int) -> OddScan:
    """One of them; what is drawn are conditions of a yard, and of a scan by hand: common practice, no source."""
    chance = np.random.default_rng([seed, 21])
    wide = float(chance.uniform(0.7, 1.5))
    side = 20.0 * wide
    surface = (None, _terrain, _field)[seed % 3]
    yard = scanned_yard(
        seed,
        density=float(chance.uniform(100.0, 200.0)) / wide,
        side=side,
        drift=float(chance.uniform(0.004, 0.025)),
        grass=float(chance.uniform(0.010, 0.030)),
        noise=float(chance.uniform(0.004, 0.012)),
        bend=float(chance.uniform(1.2, 4.0)),
        surface=None if surface is None else surface(chance, side),
    )
    off = float(chance.uniform(-0.02, 0.02)) if seed % 2 else 0.0
    return OddScan(yard, wide, 1.0 + off, int(chance.integers(4, 8)))


def _terrain(chance: np.random.Generator, side: float) -> Surface:
    """A patch of open ground seen from the air, brought down to a yard's size and relief."""
    with np.load(OPEN) as kept:
        heights = np.cumsum(kept[GRIDS[int(chance.integers(2))]], axis=1).astype(float)
    count = int(chance.integers(6, 16))  # nodes across the yard
    row, column = (int(chance.integers(0, length - count - 8)) for length in heights.shape)
    return _raised(chance, side, heights[row : row + count + 8, column : column + count + 8])


def _field(chance: np.random.Generator, side: float) -> Surface:
    """A Gaussian field of one of three smoothnesses, drawn over a lattice a metre wide at most."""
    steps = np.linspace(-MARGIN, side + MARGIN, 30)
    places = np.stack(np.meshgrid(steps, steps), axis=-1).reshape(-1, 2)
    away = np.hypot(*(places[:, None] - places[None]).transpose(2, 0, 1))
    smooth = float(chance.choice([1.0, 1.5, 2.5]))
    alike = correlation(away, smooth, float(np.exp(chance.uniform(*np.log((1.5, 7.0))))) / np.sqrt(smooth))
    field = np.linalg.cholesky(alike + 1e-8 * np.eye(len(places))) @ chance.normal(size=len(places))
    return _raised(chance, side, field.reshape(30, 30))


def _raised(chance: np.random.Generator, side: float, table: np.ndarray) -> Surface:
    """A table spread over the yard and its margin, smooth between its nodes, 0.2 to 0.7 m of relief on a fall."""
    table = gaussian_filter(table - table.mean(), 0.5)
    table *= chance.uniform(0.2, 0.7) / np.ptp(table)
    across, up = (np.linspace(-MARGIN, side + MARGIN, count) for count in table.shape)
    spline = RectBivariateSpline(across, up, table)
    fall = chance.normal(0.0, 0.03, 2)

    def surface(places: np.ndarray) -> np.ndarray:
        return np.asarray(spline.ev(*places.T) + places @ fall)

    return surface
