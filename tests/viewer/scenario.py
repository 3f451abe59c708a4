"""A yard made by hand for the drawings: invented, 60 by 45 ft (or the same in metres), one oak, one kidney bed.

The stage values are put together directly, so that the drawings can be tested alone.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from typing import Literal

import numpy as np
import shapely
from scipy.spatial import Delaunay
from shapely.affinity import translate
from shapely.geometry import Point, Polygon

from terrain.grid import Array, Grid
from terrain.ground.model import DoubtfulShot, Ground, GroundCheck
from terrain.numerics.mesh import YardMesh
from terrain.shape.proposal import BuiltCrest, Proposal
from terrain.site.model import Bed, Berm, Building, CrestPoint, KeepClear, Site, Soil, Tree
from terrain.site.survey import Survey
from terrain.soil.model import Earthwork, VolumeChecks

FT = 0.3048
INCH = 0.0254


def kidney(centre: tuple[float, float] = (25.0, 16.0), size: tuple[float, float] = (19.0, 11.5)) -> Polygon:
    """A kidney outline in metres, its hollow to the north; centre and half sizes in feet."""
    turn = np.linspace(0.0, 2 * np.pi, 97)[:-1]
    along = size[0] * np.cos(turn)
    across = size[1] * np.sin(turn) * (1.0 - 0.12 * np.cos(turn)) - 0.010 * along**2 + 1.6
    return Polygon(np.column_stack([centre[0] + along, centre[1] + across]) * FT)


def existing_grade(points: Array) -> Array:
    """Tilted, wavy ground about 100 ft up: elevation in metres at (m, 2) points in metres."""
    east, north = points[:, 0] / FT, points[:, 1] / FT
    feet = 100.0 + 0.018 * east + 0.030 * north
    feet += 0.14 * np.sin(east / 9.0) * np.cos(north / 7.0) + 0.05 * np.sin(north / 3.1 + east / 5.0)
    return feet * FT


def make_site(units: Literal["ft", "m"] = "ft", name: str = "Alder Bend, front bed (invented)") -> Site:
    """The site: 52 shots, the bed, the oak with a keep-off of 5 ft, the house to the north, a walk to the east."""
    rng = np.random.default_rng(7)
    places = rng.uniform([0.5, 0.5], [59.5, 44.5], (52, 2)) * FT
    shots = np.column_stack([places, existing_grade(places)])
    house = Polygon(np.array([[8, 36], [40, 36], [40, 45], [8, 45]]) * FT)
    walk = Polygon(np.array([[46.5, 0], [50.5, 0], [50.5, 36], [40, 36], [40, 33], [46.5, 33]]) * FT)
    crest = ((16.0, 15.0, 16.0), (23.0, 16.5, 26.0), (33.0, 14.0, 14.0))
    return Site(
        name=name,
        units=units,
        survey=Survey(shots, tuple(str(n) for n in range(1, 53)), ("",) * 52),
        bed=Bed(kidney(), sod=2 * INCH, mulch=3 * INCH),
        berm=Berm(0.25, tuple(CrestPoint(x * FT, y * FT, h * INCH) for x, y, h in crest), toe=2 * FT),
        tree=(Tree("bur oak", (30.0 * FT, 28.0 * FT), 26 * INCH, flare=2.1 * FT, keep_off=5 * FT),),
        keep_clear=(KeepClear("front walk", walk),),
        building=(Building("house", house, floor=103.2 * FT),),
        soil=Soil(truck=7.65, barrow=0.085),
    )


def mound(points: Array, worked: Polygon) -> Array:
    """A smooth 26 in mound that keeps 4:1 and is zero on and outside the edge of `worked`; metres."""
    shapely.prepare(worked)
    inside = shapely.contains_xy(worked, points[:, 0], points[:, 1])
    reach = np.where(inside, shapely.distance(shapely.points(points), worked.boundary), 0.0)
    east, north = points[:, 0] / FT, points[:, 1] / FT
    wish = 29.0 * np.exp(-(((east - 23.0) / 9.0) ** 2) - ((north - 16.5) / 9.5) ** 2)
    wish += 11.0 * np.exp(-(((east - 34.5) / 5.0) ** 2) - ((north - 13.5) / 7.0) ** 2)
    limit = 0.235 * np.maximum(reach - 0.25 * FT, 0.0) ** 2 / (reach + 0.6 * FT)
    wish = wish * INCH
    blend = 3.0 * INCH
    gap = np.clip((limit - wish) / (2 * blend) + 0.5, 0.0, 1.0)
    soft = limit * (1 - gap) + wish * gap - blend * gap * (1 - gap)
    return np.where(inside, np.clip(soft, 0.0, limit), 0.0)


def make_mesh(grid: Grid, worked: Polygon) -> YardMesh:
    """Delaunay triangles of every third node and the edge of `worked`."""
    rings = [worked.exterior, *worked.interiors]
    edge = np.vstack([np.array(ring.segmentize(0.2).coords)[:-1] for ring in rings])
    nodes = grid.nodes.reshape(grid.ny, grid.nx, 2)[::3, ::3].reshape(-1, 2)
    apart = shapely.distance(shapely.points(nodes), worked.boundary) > 0.12
    points = np.vstack([edge, nodes[apart]])
    triangles = Delaunay(points).simplices.astype(np.int64)
    middle = points[triangles].mean(axis=1)
    inside = shapely.contains_xy(worked, middle[:, 0], middle[:, 1])
    existing = existing_grade(points)
    return YardMesh(points, triangles, inside, existing, existing + mound(points, worked))


def make_ground(site: Site, cell: float = 0.25 * FT) -> Ground:
    """The ground: the true surface on the grid, one doubtful shot."""
    grid = Grid(0.0, 0.0, cell, round(60 * FT / cell) + 1, round(45 * FT / cell) + 1)
    elevation = existing_grade(grid.nodes).reshape(grid.shape)
    hull = shapely.convex_hull(shapely.multipoints(site.survey.shots[:, :2]))
    surveyed = shapely.contains_xy(hull, grid.nodes[:, 0], grid.nodes[:, 1]).reshape(grid.shape)
    at = (float(site.survey.shots[16, 0]), float(site.survey.shots[16, 1]))
    doubtful = DoubtfulShot("17", at, 0.12, 0.02, "Shot 17 stands 0.39 ft above its neighbours.")
    check = GroundCheck("thin-plate spline", {"thin-plate spline": 0.01}, 0.01, 52, (doubtful,))
    return Ground(grid, elevation, np.full(grid.shape, 0.01), surveyed, hull, check, 0.005)


def make_proposal(site: Site, ground: Ground) -> Proposal:
    """The mound on the ground's grid, with its mesh."""
    grid = ground.grid
    worked = site.bed.outline
    for tree in site.tree:
        worked = worked.difference(Point(tree.at).buffer(tree.keep_off or 0.0, quad_segs=32))
    fill = mound(grid.nodes, worked).reshape(grid.shape)
    bed = shapely.contains_xy(worked, grid.nodes[:, 0], grid.nodes[:, 1]).reshape(grid.shape)
    built = grid.sample(fill, np.array([[c.x, c.y] for c in site.berm.crest]))
    crest = tuple(
        BuiltCrest((c.x, c.y), c.height, float(h), "the slope limit" if h < c.height - 0.01 else "")
        for c, h in zip(site.berm.crest, built, strict=True)
    )
    return Proposal(
        grid=grid,
        elevation=ground.elevation + fill,
        fill=fill,
        cut=np.zeros(grid.shape),
        limit=ground.elevation + fill + 0.1,
        worked=worked,
        bed=bed,
        mesh=make_mesh(grid, worked),
        crest=crest,
        toe=2 * FT,
        steepest=0.249,
        existing_steepest=0.06,
    )


def make_work(site: Site, proposal: Proposal) -> Earthwork:
    """Quantities of the mound; factors are round ones."""
    placed = float(proposal.fill.sum()) * proposal.grid.cell**2
    return Earthwork(
        fill_placed=placed,
        fill_placed_low=0.96 * placed,
        fill_placed_high=1.04 * placed,
        rise=placed,
        sod_in_bed=proposal.worked.area * site.bed.sod,
        mulch=proposal.worked.area * site.bed.mulch,
        day_one_factor=1.0,
        bed_area=site.bed.outline.area,
        worked_area=proposal.worked.area,
        checks=VolumeChecks(placed, placed, placed),
    )


Stages = tuple[Site, Ground, Proposal, Earthwork]


def moved(stages: Stages, by: tuple[float, float]) -> Stages:
    """The same yard with the survey's origin elsewhere (metres)."""
    site, ground, proposal, work = stages

    def shift(shape: Polygon) -> Polygon:
        return translate(shape, *by)

    def spot(at: tuple[float, float]) -> tuple[float, float]:
        return at[0] + by[0], at[1] + by[1]

    grid = replace(ground.grid, x0=ground.grid.x0 + by[0], y0=ground.grid.y0 + by[1])
    doubtful = tuple(replace(d, at=spot(d.at)) for d in ground.check.doubtful)
    new_site = replace(
        site,
        survey=replace(site.survey, shots=site.survey.shots + np.array([*by, 0.0])),
        bed=replace(site.bed, outline=shift(site.bed.outline)),
        tree=tuple(replace(tree, at=spot(tree.at)) for tree in site.tree),
        keep_clear=tuple(replace(clear, outline=shift(clear.outline)) for clear in site.keep_clear),
        building=tuple(replace(house, outline=shift(house.outline)) for house in site.building),
    )
    new_ground = replace(ground, grid=grid, hull=shift(ground.hull), check=replace(ground.check, doubtful=doubtful))
    new_proposal = replace(
        proposal,
        grid=grid,
        worked=shift(proposal.worked),
        mesh=replace(proposal.mesh, points=proposal.mesh.points + by),
        crest=tuple(replace(crest, at=spot(crest.at)) for crest in proposal.crest),
    )
    return new_site, new_ground, new_proposal, work


@cache
def yard(units: Literal["ft", "m"] = "ft") -> Stages:
    """All four stage values of the invented yard."""
    site = make_site(units)
    ground = make_ground(site)
    proposal = make_proposal(site, ground)
    return site, ground, proposal, make_work(site, proposal)
