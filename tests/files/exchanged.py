"""What the tests of written files share: the yards, and volumes worked out from the triangles of a file."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from terrain.files.job import Job
from terrain.grid import Array
from terrain.numerics.prisms import prism_volume
from terrain.site.features import RetainedEdge
from terrain.site.model import Site

SITES = {"ft": "examples/alder-bend/site.toml", "m": "examples/larkspur-rise/site.toml"}
TINY = 1e-6  # units of the survey: what six decimals hold


def with_lines(site: Site) -> Site:
    """The example with a breakline through the bed and stones in it, which the shipped ones do not have."""
    west, south, east, north = site.bed.outline.bounds
    low = float(site.survey.shots[:, 2].mean())
    line = np.array([(west, south - 0.4, low), (0.5 * (west + east), 0.5 * (south + north), low), (east, south, low)])
    stones = RetainedEdge("edge of stones", ((west + 2.0, south + 2.0), (west + 3.5, south + 1.5)), 0.2)
    return replace(site, survey=replace(site.survey, breaklines=(line,)), retained_edge=(stones,))


def between(lower: Array, upper: Array) -> float:
    """Volume between two stacks of triangles (m, 3, 3) in plan alike: prisms, fill less cut."""
    p, q = lower[:, 1, :2] - lower[:, 0, :2], lower[:, 2, :2] - lower[:, 0, :2]
    area = 0.5 * np.abs(p[:, 0] * q[:, 1] - p[:, 1] * q[:, 0])
    return float(area @ (upper - lower)[:, :, 2].mean(axis=1))


def net(job: Job) -> float:
    mesh = job.thin.mesh
    volume = prism_volume(mesh.points, mesh.triangles, mesh.existing, mesh.proposed)
    return volume.fill - volume.cut
