"""Hand-made yards with known volumes: star-shaped berms on a plane, as grid and as triangles."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from shapely.geometry import Polygon, box

from terrain.grid import Array, Grid
from terrain.ground.model import Ground, GroundCheck
from terrain.numerics.mesh import YardMesh
from terrain.shape.proposal import Proposal
from terrain.site.model import Bed, Berm, CrestPoint, Site, Soil
from terrain.site.survey import Survey

Radius = Callable[[Array], Array]
Form = Callable[[Array], Array]
Plane = tuple[float, float, float]


def circle(radius: float) -> Radius:
    return lambda angle: np.full_like(angle, radius)


def kidney(radius: float) -> Radius:
    return lambda angle: radius * (1.0 + 0.28 * np.cos(2.0 * angle) - 0.15 * np.sin(angle))


def raised_cosine(height: float) -> Form:
    return lambda share: height / 2.0 * (1.0 + np.cos(np.pi * np.minimum(share, 1.0)))


def cone(height: float) -> Form:
    return lambda share: height * np.maximum(1.0 - share, 0.0)


def paraboloid(height: float) -> Form:
    return lambda share: height * np.maximum(1.0 - share**2, 0.0)


@dataclass(frozen=True)
class StarYard:
    """A berm on a plane; its height depends on the share of the way from `centre` to the outline."""

    radius: Radius
    form: Form
    centre: tuple[float, float] = (0.0, 0.0)
    plane: Plane = (100.0, 0.0, 0.0)
    spokes: int = 256
    rings: int = 64
    turn: float = 0.0

    def ground(self, points: Array) -> Array:
        level, east, north = self.plane
        local = points - np.array(self.centre)
        return level + east * local[:, 0] + north * local[:, 1]

    def share(self, points: Array) -> Array:
        local = points - np.array(self.centre)
        angle = np.arctan2(local[:, 1], local[:, 0]) - self.turn
        return np.hypot(local[:, 0], local[:, 1]) / self.radius(angle)

    @property
    def angles(self) -> Array:
        return 2.0 * math.pi * np.arange(self.spokes) / self.spokes

    @property
    def outline(self) -> Polygon:
        return Polygon(self._ring(1.0))

    def _ring(self, share: float) -> Array:
        reach = share * self.radius(self.angles)
        along = self.angles + self.turn
        return np.array(self.centre) + reach[:, None] * np.column_stack([np.cos(along), np.sin(along)])

    def mesh(self) -> YardMesh:
        """Rings of triangles, the outline one of them, and three rings of untouched ground outside."""
        shares = np.concatenate([np.arange(1, self.rings + 1) / self.rings, [1.1, 1.25, 1.5]])
        points = np.concatenate([np.array([self.centre]), *[self._ring(share) for share in shares]])
        depth = np.concatenate([[self.form(np.zeros(1))[0]], np.repeat(self.form(shares), self.spokes)])
        depth[1 + (self.rings - 1) * self.spokes :] = 0.0
        existing = self.ground(points)
        triangles, ring = ring_triangles(len(shares), self.spokes)
        return YardMesh(points, triangles, ring < self.rings, existing, existing + depth)

    def grid(self, cell: float, margin: float = 1.0) -> tuple[Grid, Array, Array]:
        """A grid over the yard, the fill at its nodes and the existing grade, both (ny, nx)."""
        west, south, east, north = self.outline.bounds
        nx = math.ceil((east - west + 2 * margin) / cell) + 1
        ny = math.ceil((north - south + 2 * margin) / cell) + 1
        grid = Grid(west - margin, south - margin, cell, nx, ny)
        share = self.share(grid.nodes)
        fill = np.where(share < 1.0, self.form(share), 0.0).reshape(grid.shape)
        return grid, fill, self.ground(grid.nodes).reshape(grid.shape)


def ring_triangles(rings: int, spokes: int) -> tuple[np.ndarray, np.ndarray]:
    """Counter-clockwise triangles of a centre and `rings` rings of `spokes` points, and the ring each lies in."""
    here = np.arange(spokes)
    onward = (here + 1) % spokes
    fans = [np.column_stack([np.zeros(spokes, dtype=int), 1 + here, 1 + onward])]
    for ring in range(1, rings):
        inner, outer = 1 + (ring - 1) * spokes, 1 + ring * spokes
        fans.append(np.column_stack([inner + here, outer + here, outer + onward]))
        fans.append(np.column_stack([inner + here, outer + onward, inner + onward]))
    number = np.concatenate([np.zeros(spokes, dtype=int), np.repeat(np.arange(1, rings), 2 * spokes)])
    return np.concatenate(fans).astype(np.int64), number


def stages(
    yard: StarYard,
    *,
    cell: float = 0.0762,
    sod: float = 0.0,
    mulch: float = 0.0,
    soil: Soil | None = None,
    mean_deviation: float = 0.0,
) -> tuple[Site, Ground, Proposal]:
    """Site, ground and proposal of a star yard, as the earlier stages would hand them on."""
    grid, fill, existing = yard.grid(cell)
    outline = yard.outline
    west, south, east, north = outline.bounds
    hull = box(west - 1.0, south - 1.0, east + 1.0, north + 1.0)
    shots = np.column_stack([hull.exterior.coords, np.zeros(5)])
    site = Site(
        name="Invented star",
        units="m",
        survey=Survey(shots, ("1", "2", "3", "4", "5"), ("",) * 5),
        bed=Bed(outline, sod, mulch),
        berm=Berm(0.25, (CrestPoint(*yard.centre, float(fill.max())),)),
        soil=soil or Soil(),
    )
    inside = np.ones(grid.shape, dtype=bool)
    check = GroundCheck("plane", {"plane": 0.0}, 0.0, 5)
    ground = Ground(grid, existing, np.zeros(grid.shape), inside, hull, check, mean_deviation)
    proposal = Proposal(
        grid=grid,
        elevation=existing + fill,
        fill=np.maximum(fill, 0.0),
        cut=np.maximum(-fill, 0.0),
        limit=existing + fill,
        worked=outline,
        bed=yard.share(grid.nodes).reshape(grid.shape) < 1.0,
        mesh=yard.mesh(),
        crest=(),
        toe=0.0,
        steepest=0.0,
        existing_steepest=0.0,
    )
    return site, ground, proposal
