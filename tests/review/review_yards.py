"""Hand-made stages for the review tests: plates of soil with their own corners, and grids with a fill of any shape."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely.geometry import Polygon, box

from terrain.findings import Finding
from terrain.grid import Array, Grid
from terrain.ground.model import DoubtfulShot, Ground, GroundCheck
from terrain.numerics.mesh import YardMesh
from terrain.review.answer import Review
from terrain.review.check_list import CHECKS
from terrain.review.checking import Yard
from terrain.review.drainage import check_drainage
from terrain.review.model import TreeCheck
from terrain.review.proposal_review import in_order, review
from terrain.review.water import Water
from terrain.shape.berm import shape_berm
from terrain.shape.digs import digs_of
from terrain.shape.proposal import BuiltCrest, Proposal
from terrain.site.checks import check_site
from terrain.site.model import Bed, Berm, CrestPoint, Site
from terrain.site.survey import Survey
from terrain.soil.measure import measure_earthwork
from terrain.soil.model import Earthwork, VolumeChecks
from terrain.soil.order import order_soil

Depth = Callable[[Array, Array], Array] | float
EXAMPLES = ("alder-bend", "larkspur-rise")


def heights(shape: Depth, x: Array, y: Array) -> Array:
    """Values of a function of place, or of a number, at points."""
    return shape(x, y) if callable(shape) else np.full(np.shape(x), float(shape))


def plates(*parts: tuple[Polygon, Depth], existing: Depth = 0.0) -> YardMesh:
    """Rectangles that share no corners, so that the fill may step from one to the next."""
    points, triangles, fill = [], [], []
    for number, (rectangle, depth) in enumerate(parts):
        corners = np.array(rectangle.exterior.coords)[:4]
        points.append(corners)
        triangles += [(4 * number, 4 * number + 1, 4 * number + 2), (4 * number, 4 * number + 2, 4 * number + 3)]
        fill.append(heights(depth, *corners.T))
    corners = np.concatenate(points)
    ground = heights(existing, *corners.T)
    return YardMesh(
        corners, np.array(triangles), np.ones(len(triangles), dtype=bool), ground, ground + np.concatenate(fill)
    )


def grid_mesh(grid: Grid, existing: Array, proposed: Array, inside: Polygon) -> YardMesh:
    """Every grid cell as two triangles."""
    j, i = (a.ravel() for a in np.mgrid[: grid.ny - 1, : grid.nx - 1])
    a = j * grid.nx + i
    b, c, d = a + 1, a + grid.nx + 1, a + grid.nx
    triangles = np.concatenate([np.column_stack([a, b, c]), np.column_stack([a, c, d])])
    middle = grid.nodes[triangles].mean(axis=1)
    return YardMesh(grid.nodes, triangles, shapely.contains_xy(inside, middle), existing.ravel(), proposed.ravel())


def make_grid(size: float = 20.0, cell: float = 0.25) -> Grid:
    count = round(size / cell) + 1
    return Grid(0.0, 0.0, cell, count, count)


def make_ground(grid: Grid, existing: Depth = 0.0, hull: Polygon | None = None, **check: object) -> Ground:
    x, y = np.meshgrid(grid.x, grid.y)
    hull = box(grid.x[0], grid.y[0], grid.x[-1], grid.y[-1]) if hull is None else hull
    zeros = np.zeros(grid.shape)
    answer = GroundCheck("hand-made", {"hand-made": 0.0}, 0.0, 9, check.pop("doubtful", ()))
    return Ground(grid, heights(existing, x, y), zeros, zeros == 0.0, hull, answer, **check)


def make_proposal(
    ground: Ground, fill: Depth, bed: Polygon, mesh: YardMesh | None = None, **values: object
) -> Proposal:
    """A proposal with the given fill inside the bed; `mesh` stands in for the grid's own triangles."""
    grid = ground.grid
    x, y = np.meshgrid(grid.x, grid.y)
    inside = shapely.contains_xy(bed, grid.nodes).reshape(grid.shape)
    depth = np.where(inside, heights(fill, x, y), 0.0)
    proposed = ground.elevation + depth
    given = {"crest": (), "toe": 0.6, "steepest": 0.2, "existing_steepest": 0.0, "worked": bed} | values
    return Proposal(
        grid=grid,
        elevation=proposed,
        fill=np.maximum(depth, 0.0),
        cut=np.maximum(-depth, 0.0),
        limit=proposed,
        bed=inside,
        mesh=grid_mesh(grid, ground.elevation, proposed, bed) if mesh is None else mesh,
        **given,
    )


def make_site(bed: Polygon, units: str = "m", max_slope: float = 0.25, sod: float = 0.0, **values: object) -> Site:
    survey = Survey(np.zeros((3, 3)), ("1", "2", "3"), ("", "", ""))
    berm = values.pop("berm", Berm(max_slope, (CrestPoint(10.0, 10.0, 0.5),)))
    return Site("hand-made", units, survey, Bed(bed, sod), berm, **values)


def make_work(day_one: float = 1.0, placed: float = 5.0) -> Earthwork:
    checks = VolumeChecks(placed, placed, placed)
    return Earthwork(
        fill_placed=placed,
        fill_placed_low=placed,
        fill_placed_high=placed,
        rise=placed,
        day_one_factor=day_one,
        bed_area=10.0,
        worked_area=10.0,
        checks=checks,
    )


def plane_under(site: Site, cell: float = 0.2) -> Ground:
    """Ground of a shipped site as the plane through its shots: quick, where the ground is not what is tested."""
    shots = site.survey.shots
    low, high = shots[:, :2].min(axis=0) - 1.0, shots[:, :2].max(axis=0) + 1.0
    nx, ny = (int(n) + 2 for n in (high - low) / cell)
    grid = Grid(low[0], low[1], cell, nx, ny)
    middle = shots.mean(axis=0)
    plane, *_ = np.linalg.lstsq(shots[:, :2] - middle[:2], shots[:, 2] - middle[2], rcond=None)
    return make_ground(grid, lambda x, y: middle[2] + plane[0] * (x - middle[0]) + plane[1] * (y - middle[1]))


def reviewed(
    existing: Depth = lambda x, y: 0.03 * y,
    bed: Polygon | None = None,
    crest: tuple[tuple[float, float, float], ...] = ((10.0, 9.0, 0.5),),
    grid: Grid | None = None,
    **values: object,
) -> tuple[Site, Ground, Proposal, Review]:
    """A yard shaped, measured and reviewed by the real stages; only its ground is stated and not modelled from shots.

    20 m by 20 m, falling to the south, with a round bed in its middle, unless stated otherwise; `sod`, `mulch`, `berm`
    and `max_slope` go into the bed and the berm, everything else into the site.
    """
    ground = make_ground(make_grid() if grid is None else grid, existing)
    inner = Bed(
        shapely.Point(10.0, 9.0).buffer(4.0, quad_segs=6) if bed is None else bed,
        values.pop("sod", 0.05),
        values.pop("mulch", 0.07),
    )
    points = tuple(CrestPoint(*point) for point in crest)
    berm = Berm(values.pop("max_slope", 0.25), points, **values.pop("berm", {}))
    east, north = ground.grid.x[-1], ground.grid.y[-1]
    corners = np.array([(0.0, 0.0, 0.0), (east, 0.0, 0.0), (east, north, 0.0), (0.0, north, 0.0)])
    survey = Survey(corners, ("1", "2", "3", "4"), ("",) * 4)
    site = check_site(Site("hand-made", values.pop("units", "m"), survey, inner, berm, **values))
    proposal = shape_berm(site, ground)
    return site, ground, proposal, review(site, ground, proposal, measure_earthwork(site, ground, proposal))


def dome(x0: float, y0: float, radius: float, height: float) -> Callable[[Array, Array], Array]:
    """A smooth round mound that eases into the ground."""
    return lambda x, y: height * np.clip(1.0 - ((x - x0) ** 2 + (y - y0) ** 2) / radius**2, 0.0, None) ** 2


def short_crest(wished: float, built: float, at: tuple[float, float] = (1.0, 2.0)) -> BuiltCrest:
    return BuiltCrest(at, wished, built, "the slope limit from the bed outline" if built < wished else "")


def doubtful(name: str, residual: float = 0.2) -> DoubtfulShot:
    return DoubtfulShot(name, (3.0, 4.0), residual, 0.02, f"Shot {name} does not agree with its neighbours.")


# Checks of the review by what they look at, for tests that hand-make no more than that.
OF_TREES = {
    *(
        "keep-offs",
        "digging in root protection zones",
        "soil on root protection zones",
        "crowns past root protection zones",
        "work beside root protection zones",
    ),
    *("kinds of trees", "root flares"),
}
OF_SLOPES = {"finished slopes", "ground steep already", "wishes held back", "level tops"}
OF_EDGES = {"height of stones", "stones by trees", "weight of stones", "open water"}
OF_HEAPS = {"heaps on roots", "place of heaps"}
OF_WATER = {
    *("ground beside buildings", "swales by buildings", "ponds", "water toward buildings", "water off the lot"),
}
CAUTIONS = {
    *("buried lines", "pits", "footings", "machines on roots", "overhead lines", "dust of stone"),
    *("bare soil", "permits", "benches", "estimates"),
}


def asked(
    names: set[str],
    site: Site,
    ground: Ground | None = None,
    proposal: Proposal | None = None,
    work: Earthwork | None = None,
    trees: tuple[TreeCheck, ...] = (),
) -> tuple[Finding, ...]:
    """The findings of the checks of these names, which look at no other stage than those given."""
    assert names <= {check.name for check in CHECKS}, names - {check.name for check in CHECKS}
    order = None if work is None else order_soil(site, work)
    if proposal is not None and ground is not None:
        proposal = replace(proposal, digs=digs_of(site, ground))
    drainage = check_drainage(site, ground, proposal) if names & OF_WATER else None
    yard = Yard(site, ground, proposal, work, order, trees, None, drainage)
    return tuple(found for check in CHECKS if check.name in names for found in check.find(yard))


def tree_findings(site: Site, trees: tuple[TreeCheck, ...]) -> tuple[Finding, ...]:
    """What is said of checked trees, worst first."""
    return in_order(asked(OF_TREES, site, trees=trees))


@dataclass(frozen=True)
class Drained:
    """The water of a yard, and what is said of it."""

    water: Water
    findings: tuple[Finding, ...]


def drained(site: Site, ground: Ground, proposal: Proposal) -> Drained:
    """The water of a hand-made proposal and the findings on it."""
    return Drained(check_drainage(site, ground, proposal).water, asked(OF_WATER, site, ground, proposal))
