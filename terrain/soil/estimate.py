"""The soil order of one yard with its what-if: the flow of `run_site`, with the bed prepared once for all heights."""

from __future__ import annotations

from dataclasses import dataclass, replace

from terrain.flow import Progress, Study, quietly
from terrain.ground.existing import model_ground
from terrain.ground.model import Ground
from terrain.review.review import review
from terrain.shape.berm import build, scale_for_soil
from terrain.shape.prepared import Prepared, prepare
from terrain.site.model import Site
from terrain.soil.heights import HeightRow, height_rows, scale_for_height, scales_beside
from terrain.soil.measure import measure_earthwork
from terrain.soil.order import Order
from terrain.soil.site_order import order_of, with_kind


@dataclass(frozen=True)
class WhatIf:
    """What shall be different from the site file; None: nothing. At most one of the first three is given.

    Parameters
    ----------
    scale
        Factor on the crest heights.
    height
        Top of the mound over existing grade, metres.
    soil
        Soil on hand that the mound shall take, loose m3.
    kind
        Kind of soil, by the published table.
    """

    scale: float | None = None
    height: float | None = None
    soil: float | None = None
    kind: str | None = None

    @property
    def anything(self) -> bool:
        """True where something differs from the site file."""
        return self != WhatIf()


@dataclass(frozen=True)
class Estimate:
    """One yard worked through, its order, and the orders for other heights.

    Parameters
    ----------
    study
        The yard as asked for: with the heights, the soil on hand and the kind of soil of the what-if.
    order
        Its order.
    heights
        Lower and higher mounds, lowest first; one of them is the mound of the study.
    asked
        The what-if.
    """

    study: Study
    order: Order
    heights: tuple[HeightRow, ...]
    asked: WhatIf


def estimate(site: Site, asked: WhatIf | None = None, progress: Progress = quietly) -> Estimate:
    """Work out the order of a yard, and of the same mound at other heights.

    Parameters
    ----------
    site
        The yard, validated, in SI units.
    asked
        What shall be different from the site file.
    progress
        Called with a few words before each stage begins.

    Raises
    ------
    InputError
        Where a stage cannot work with what the site says, or the kind of soil is not in the table.
    """
    asked = asked or WhatIf()
    site = _site_as_asked(site, asked)
    progress("modelling the ground")
    ground = model_ground(site)
    progress("shaping the berm")
    prepared = prepare(site, ground)
    scale = _scale(site, ground, prepared, asked)
    proposal = build(site, ground, prepared, scale)
    progress("measuring the earthwork")
    work = measure_earthwork(site, ground, proposal)
    progress("checking trees, slopes and look")
    study = Study(site, ground, proposal, work, review(site, ground, proposal, work))
    progress("trying other heights")
    return Estimate(study, order_of(site, work), height_rows(site, ground, prepared, scales_beside(scale)), asked)


def estimate_of(study: Study) -> Estimate:
    """The order of a yard that is worked through already, and of the same mound at other heights."""
    site, ground, scale = study.site, study.ground, study.proposal.height_scale
    rows = height_rows(site, ground, prepare(site, ground), scales_beside(scale))
    return Estimate(study, order_of(site, study.work), rows, WhatIf())


def _site_as_asked(site: Site, asked: WhatIf) -> Site:
    """The site with the soil of the what-if; heights that are asked for set aside the soil on hand of the file."""
    if asked.kind is not None:
        site = replace(site, soil=with_kind(site.soil, asked.kind))
    if asked.soil is not None:
        return replace(site, berm=replace(site.berm, soil=asked.soil))
    if asked.scale is not None or asked.height is not None:
        return replace(site, berm=replace(site.berm, soil=None))
    return site


def _scale(site: Site, ground: Ground, prepared: Prepared, asked: WhatIf) -> float:
    """Factor on the crest heights of the site file."""
    if asked.height is not None:
        return scale_for_height(site, ground, prepared, asked.height)
    if site.berm.soil is not None:
        return scale_for_soil(site, ground, prepared, site.berm.soil)
    return 1.0 if asked.scale is None else asked.scale
