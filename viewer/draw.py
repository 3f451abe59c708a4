"""Every drawing of one yard, in one call."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import NamedTuple

from terrain.findings import Finding
from terrain.ground.model import Ground
from terrain.look.look import natural_look
from terrain.shape.proposal import Proposal
from terrain.site.model import Site
from terrain.soil.model import Earthwork
from viewer.page.subject import CHOSEN, Asked, Subject
from viewer.pictures.eye_level import draw_eye_level
from viewer.pictures.sign_profiles import draw_sign_profiles
from viewer.pictures.skyline import draw_skyline
from viewer.pictures.slope_map import draw_slope_map
from viewer.pictures.view3d import started_view
from viewer.sheets.cutfill import draw_cutfill
from viewer.sheets.plan import draw_plan
from viewer.sheets.sections import draw_sections


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
    asked: Asked = CHOSEN,
) -> DrawnFiles:
    """Write every drawing into an existing folder.

    These are plan.pdf, plan.png, sections.png, cutfill.png, eye_<place>.png for each place to look from, skyline.png,
    slope.png, signs.png and view.png.

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
    asked
        Contour interval and paper of plan, sections and cut and fill, where they are not to be chosen here.
    """
    subject = Subject(site, ground, proposal, work)
    progress("setting up the view")
    # The view's process works on the other core while the drawings are made here.
    with started_view(subject, with_3d_library=with_3d_library, folder=folder) as view:
        progress("drawing the contour plan")
        paths = draw_plan(site, ground, proposal, work, findings, folder, asked)
        progress("drawing the sections")
        paths += draw_sections(site, ground, proposal, work, folder, asked)
        progress("drawing cut and fill")
        paths += draw_cutfill(site, ground, proposal, work, folder, asked)
        paths += draw_look(subject, folder, progress)
        progress("drawing the view")
        drawn = view.collect(folder)
    return DrawnFiles((*paths, drawn.path), (drawn.note,) if drawn.note else ())


def draw_look(subject: Subject, folder: Path, progress: Callable[[str], None] = lambda words: None) -> list[Path]:
    """Write what shows whether the mound reads natural: eye-level views, skyline, slope map, profiles of the signs."""
    ground, proposal = subject.ground, subject.proposal
    paths = draw_eye_level(subject, folder, progress)
    progress("drawing skyline, slopes and signs")
    look = natural_look(ground.grid, ground.elevation, proposal.elevation, subject.site.bed.outline)
    return [
        *paths,
        *draw_skyline(subject, folder),
        *draw_slope_map(subject, folder),
        *draw_sign_profiles(subject, look, folder),
    ]
