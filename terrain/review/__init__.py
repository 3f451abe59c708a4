"""Findings: trees, slopes, natural look, cautions.

`terrain.review` is both this folder and, by the library's public face, the function that reviews a proposal. Python
gives the name to the folder as soon as any file in it is imported, so the folder answers to a call as the function.
"""

from __future__ import annotations

import sys
from types import ModuleType
from typing import TYPE_CHECKING

import lazy_loader

if TYPE_CHECKING:
    from terrain.ground import Ground
    from terrain.review.answer import Review
    from terrain.shape import Proposal
    from terrain.site import Site
    from terrain.soil import Earthwork

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)


class _ReviewFolder(ModuleType):
    """This folder as a module that can be called."""

    def __call__(self, site: Site, ground: Ground, proposal: Proposal, work: Earthwork) -> Review:
        """Review a proposal; see `terrain.review.proposal_review.review`."""
        from terrain.review.proposal_review import review

        return review(site, ground, proposal, work)


sys.modules[__name__].__class__ = _ReviewFolder
