"""Sites about a survey, for the tests of the grid and of the stage as a whole."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray
from shapely.geometry import Polygon, box

from terrain.site.model import Bed, Berm, CrestPoint, GridSpec, Site, Tree
from terrain.site.survey import Survey

FOOT = 0.3048
BED = box(15.0, 10.0, 45.0, 30.0)  # feet


def site_of(shots_ft: NDArray[np.float64], bed_ft: Polygon = BED, accuracy_ft: float = 0.02) -> Site:
    """An invented site in feet about shots (n, 3) in feet, with an oak beside the bed."""
    middle = bed_ft.centroid
    return Site(
        name="test yard",
        units="ft",
        survey=Survey(
            shots=np.asarray(shots_ft) * FOOT,
            names=tuple(str(row + 1) for row in range(len(shots_ft))),
            codes=("",) * len(shots_ft),
            accuracy=accuracy_ft * FOOT,
        ),
        bed=Bed(outline=Polygon(np.asarray(bed_ft.exterior.coords) * FOOT)),
        berm=Berm(max_slope=0.25, crest=(CrestPoint(middle.x * FOOT, middle.y * FOOT, 0.5),)),
        tree=(Tree(name="oak", at=(46.0 * FOOT, 20.0 * FOOT), trunk=0.6, flare=0.6, keep_off=1.5),),
    )


def with_cell(site: Site, cell: float) -> Site:
    """The site with its own cell, metres."""
    return replace(site, grid=GridSpec(cell=cell))
