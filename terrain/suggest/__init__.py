"""Alternatives: other forms inside the same outline, limits and soil, clearly different from each other.

`terrain.suggest` is both this folder and, by the library's public face, the function that suggests; see
`terrain.review` for why the folder answers to a call.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from types import ModuleType
from typing import TYPE_CHECKING

import lazy_loader

if TYPE_CHECKING:
    from terrain.ground import Ground
    from terrain.site import Site
    from terrain.suggest.each import OnEach
    from terrain.suggest.laying import Wishes
    from terrain.suggest.search import Suggestion

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)


class _SuggestFolder(ModuleType):
    """This folder as a module that can be called."""

    def __call__(
        self,
        site: Site,
        ground: Ground,
        progress: Callable[[str], None] = lambda words: None,
        wishes: Wishes | None = None,
        on_each: OnEach | None = None,
    ) -> tuple[Suggestion, ...]:
        """Suggest other forms; see `terrain.suggest.search.suggest`."""
        from terrain.suggest.each import one_by_one
        from terrain.suggest.search import suggest

        return suggest(site, ground, progress, wishes, on_each or one_by_one)


sys.modules[__name__].__class__ = _SuggestFolder
