"""Every drawing of one yard, in one call."""

from __future__ import annotations

import gc
from collections.abc import Callable, Sequence
from pathlib import Path

from terrain.findings import Finding
from terrain.flow import Study
from terrain.language import Language
from viewer.beside import done_beside
from viewer.page import DrawingOptions, Subject, load_letters, subject_of
from viewer.pictures import draw_eye_level, draw_sign_profiles, draw_skyline, draw_slope_map, draw_view
from viewer.sheets import draw_cutfill, draw_plan, draw_review, draw_sections, draw_water, in_language

MAPS = ("plan.pdf", "plan.png", "sections.png", "cutfill.png")


def draw_study(study: Study, asked: DrawingOptions, words: Language, folder: Path) -> None:
    """Write what `draw_all` writes of a study, and water.png and review.pdf, whose findings are in a language."""
    subject = subject_of(study, asked)

    def draw_findings() -> None:
        with in_language(study.site, words):
            draw_review(study, folder, asked.paper)
        draw_water(subject, study.review.water, study.review.findings, folder)

    draw_all(subject, study.review, folder, draw_findings)


def draw_all(
    subject: Subject, findings: Sequence[Finding], folder: Path, more: Callable[[], object] = lambda: None
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
    more
        Draws what else there is to draw.
    """
    load_letters()  # once, not once a fork
    how_it_reads = [folder / name for name in ("skyline.png", "slope.png", "signs.png")]

    def draw_flat() -> None:
        more()
        draw_plan(subject, findings, folder)
        draw_sections(subject, folder)
        draw_cutfill(subject, folder)
        draw_skyline(subject, folder)
        draw_slope_map(subject, folder)
        draw_sign_profiles(subject, subject.look, folder)

    with done_beside(draw_flat):  # what lies flat takes one core as long as what stands takes the other
        eyes = draw_eye_level(subject, folder)
        gc.collect()  # pages hold themselves: they go before the largest picture needs their room
        view = draw_view(subject, folder)
    return [*(folder / name for name in MAPS), *eyes, *how_it_reads, view]
