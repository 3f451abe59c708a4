"""Every drawing of one yard, in one call."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

from terrain.findings import Finding
from viewer.beside import done_beside
from viewer.page import Subject
from viewer.pictures import draw_eye_level, draw_sign_profiles, draw_skyline, draw_slope_map, draw_view
from viewer.sheets import draw_cutfill, draw_plan, draw_sections

MAPS = ("plan.pdf", "plan.png", "sections.png", "cutfill.png")


def draw_all(
    subject: Subject, findings: Sequence[Finding], folder: Path, progress: Callable[[str], None] = lambda words: None
) -> list[Path]:
    """Write every drawing into an existing folder, and answer the files.

    These are plan.pdf, plan.png, sections.png, cutfill.png, eye_<place>.png for each place to look from, skyline.png,
    slope.png, signs.png and view.png.

    Parameters
    ----------
    subject
        The stages, which the drawings only read, and what was asked of plan, sections, cut and fill.
    findings
        The review, or any sequence of findings: cautions and stops are written on the plan.
    folder
        Where the files go; it must exist.
    progress
        Called with a few words before each drawing.
    """
    import matplotlib.backends.backend_agg  # loaded once, not once a fork
    import matplotlib.figure  # noqa: F401

    def draw_maps() -> None:
        draw_plan(subject, findings, folder)
        draw_sections(subject, folder)
        draw_cutfill(subject, folder)

    progress("drawing plan, sections, cut and fill beside the view")
    with done_beside(draw_maps):  # on the other core
        look = draw_look(subject, folder, progress)
        progress("drawing the view")
        view = draw_view(subject, folder)
    return [*(folder / name for name in MAPS), *look, view]


def draw_look(subject: Subject, folder: Path, progress: Callable[[str], None] = lambda words: None) -> list[Path]:
    """Write what shows whether the mound reads natural: eye-level views, skyline, slope map, profiles of the signs."""
    paths = draw_eye_level(subject, folder, progress)
    progress("drawing skyline, slopes and signs")
    return [
        *paths,
        *draw_skyline(subject, folder),
        *draw_slope_map(subject, folder),
        *draw_sign_profiles(subject, subject.look, folder),
    ]
