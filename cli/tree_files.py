"""Every file that `trees` writes into a folder, and the one site that it refuses."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from types import MappingProxyType

from terrain.errors import InputError
from terrain.files import as_json, summary_of
from terrain.flow import Study
from terrain.language import Language
from terrain.site import Site
from terrain.soil import round_offset
from viewer.desk import NOBODY, Desk
from viewer.page import subject_of
from viewer.sheets import draw_trees, in_language


def refuse_treeless(site: Site, site_file: Path) -> None:
    """Raise InputError before any work where the site has no tree to check."""
    if not site.tree:
        raise InputError(
            f"{site_file.name}, [[tree]]", "no tree is listed.", "Add a [[tree]] with its name, at and trunk."
        )


def write_trees(
    study: Study,
    folder: Path,
    progress: Callable[[str], None],
    words: Language,
    more: Mapping[str, object] = MappingProxyType({}),
    desk: Desk = NOBODY,
) -> tuple[dict[str, object], tuple[str, ...]]:
    """Write trees.pdf and trees.json into an existing folder; answers the summary and the names of the files.

    `more` is what the summary tells besides.
    """
    progress("drawing a page for each tree")
    with desk.doing(_draw, study, folder / "trees.pdf", words):
        summary = {**summary_of(study, round_offset(study.proposal.mesh, study.site.bed.sod)), **more}
        (folder / "trees.json").write_text(as_json(summary), encoding="utf-8")
    return summary, tuple(sorted(path.name for path in folder.iterdir()))


def _draw(study: Study, path: Path, words: Language) -> None:
    with in_language(study.site, words):
        draw_trees(subject_of(study), study.review, path)
