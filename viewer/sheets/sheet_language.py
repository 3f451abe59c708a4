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
    built = (site.basin, site.channel, site.terrace, site.retained_edge, site.stream)
    points = (site.survey.names, [name for name, _ in site.survey.known])
    leave = [word for tree in site.tree if (own := tree.allowed) for word in (own.by, own.licence, own.date)]
    drawing = site.drawing
    leave += [drawing.drawn, drawing.checked, drawing.datum]
    leave += [site.survey.file, site.path.name if site.path is not None else ""]
    leave += [word for one in drawing.revision for word in (one.mark, one.what)]
    names = names_in([site.name], *listed, *built, *points, leave)
    retold = Retold(words, names)
    with spoken(retold):
        yield retold
