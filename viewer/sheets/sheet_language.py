"""The sheets of one yard in another language: the names of the yard stay, all else is said again."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from terrain.language import Language
from terrain.languages import Retold, names_in
from terrain.site import Site
from viewer.page import spoken


@contextmanager
def in_language(site: Site, words: Language) -> Iterator[Retold]:
    """Draw every sheet of a yard in a language until the block ends; answers what says the texts again."""
    listed = (site.tree, site.keep_clear, site.walk, site.heap, site.building, site.thing)
    built = (site.basin, site.channel, site.terrace, site.retained_edge)
    names = names_in([site.name], *listed, *built, site.survey.names)
    retold = Retold(words, names)
    with spoken(retold):
        yield retold
