"""The proposal as it stands on day one, before the soil settles, or once it has: the one grade that files hold."""

from __future__ import annotations

from dataclasses import replace
from typing import Literal

import numpy as np

from terrain.flow import Study
from terrain.grid import frozen
from terrain.review import steepest_on_day_one
from terrain.shape import Proposal

Grade = Literal["day one", "finished"]


def graded(study: Study, grade: Grade) -> Proposal:
    """The proposal at a grade: on day one all fill stands higher by the allowance for settlement, cut as it is."""
    proposal, mesh = study.proposal, study.proposal.mesh
    if grade == "finished":
        return proposal
    more = study.work.day_one_factor - 1.0
    built = replace(mesh, proposed=frozen(mesh.proposed + more * np.maximum(mesh.fill, 0.0)))
    return replace(
        proposal,
        elevation=frozen(proposal.elevation + more * proposal.fill),
        fill=frozen((1.0 + more) * proposal.fill),
        mesh=built,
        crest=tuple(replace(point, built=(1.0 + more) * point.built) for point in proposal.crest),
        steepest=steepest_on_day_one(study.site, proposal, 1.0 + more),
    )
