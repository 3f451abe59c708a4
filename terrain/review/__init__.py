"""Findings: trees, slopes, natural look, cautions.

`terrain.review` is both this folder and, by the library's public face, the function that reviews a proposal. Python
gives the name to the folder as soon as any file in it is imported, so the folder answers to a call as the function.
"""

from __future__ import annotations

import sys
from types import ModuleType
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from terrain.ground.model import Ground
    from terrain.review.model import Review
    from terrain.shape.proposal import Proposal
    from terrain.site.model import Site
    from terrain.soil.model import Earthwork


class _ReviewFolder(ModuleType):
    """This folder as a module that can be called."""

    def __call__(self, site: Site, ground: Ground, proposal: Proposal, work: Earthwork) -> Review:
        """Review a proposal; see `terrain.review.proposal_review.review`."""
        from terrain.review.proposal_review import review

        return review(site, ground, proposal, work)


sys.modules[__name__].__class__ = _ReviewFolder
