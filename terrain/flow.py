"""The whole flow for one yard, and the frozen bundle of what its stages answered."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from terrain.ground.existing import model_ground
from terrain.ground.model import Ground
from terrain.review.model import Review
from terrain.review.review import review
from terrain.shape.berm import shape_berm
from terrain.shape.crest import with_heights
from terrain.shape.proposal import Proposal
from terrain.site.model import Site
from terrain.soil.measure import measure_earthwork
from terrain.soil.model import Earthwork

Progress = Callable[[str], None]


@dataclass(frozen=True)
class Study:
    """One yard worked through: what every output is drawn and written from."""

    site: Site
    ground: Ground
    proposal: Proposal
    work: Earthwork
    review: Review


def quietly(step: str) -> None:
    """Tell nobody: the progress of a run that nobody watches."""


def run_site(site: Site, progress: Progress = quietly) -> Study:
    """Work one yard through every stage.

    Parameters
    ----------
    site
        The yard, validated, in SI units.
    progress
        Called with a few words before each stage begins.

    Raises
    ------
    InputError
        Where a stage cannot work with what the site says.
    """
    progress("modelling the ground")
    ground = model_ground(site)
    site = with_heights(site, ground)
    progress("shaping the berm")
    proposal = shape_berm(site, ground)
    progress("measuring the earthwork")
    work = measure_earthwork(site, ground, proposal)
    progress("checking trees, slopes and look")
    return Study(site, ground, proposal, work, review(site, ground, proposal, work))
