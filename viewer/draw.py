"""Every drawing of one yard, in one call."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import NamedTuple

from terrain.earthwork.model import Earthwork
from terrain.findings import Finding
from terrain.ground.model import Ground
from terrain.shape.proposal import Proposal
from terrain.site.model import Site
from viewer.cutfill import draw_cutfill
from viewer.plan import draw_plan
from viewer.sections import draw_sections
from viewer.subject import Subject
from viewer.view3d import started_view


class DrawnFiles(NamedTuple):
    """The files written, and remarks on how they were made (empty where there is nothing to say)."""

    paths: tuple[Path, ...]
    notes: tuple[str, ...]


def draw_all(
    site: Site,
    ground: Ground,
    proposal: Proposal,
    work: Earthwork,
    findings: Sequence[Finding],
    folder: Path,
    progress: Callable[[str], None] = lambda words: None,
    *,
    with_3d_library: bool = True,
) -> DrawnFiles:
    """Write plan.pdf, plan.png, sections.png, cutfill.png and view.png into an existing folder.

    Parameters
    ----------
    site, ground, proposal, work
        The stages; the drawings only read.
    findings
        The review, or any sequence of findings: cautions and stops are written on the plan.
    folder
        Where the files go; it must exist.
    progress
        Called with a few words before each drawing.
    with_3d_library
        False paints the view by numbers and starts no other process.
    """
    subject = Subject(site, ground, proposal, work)
    progress("setting up the view")
    # The view's process works on the other core while the drawings are made here.
    with started_view(subject, with_3d_library=with_3d_library) as view:
        progress("drawing the contour plan")
        paths = draw_plan(site, ground, proposal, work, findings, folder)
        progress("drawing the sections")
        paths += draw_sections(site, ground, proposal, work, folder)
        progress("drawing cut and fill")
        paths += draw_cutfill(site, ground, proposal, work, folder)
        progress("drawing the view")
        drawn = view.collect(folder)
    return DrawnFiles((*paths, drawn.path), (drawn.note,) if drawn.note else ())
