"""Everything that `shape` writes into a folder, and what there is to say about it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from terrain.files import write_models
from terrain.flow import Study
from terrain.language import ENGLISH, Language
from terrain.units import Units, parse_length
from viewer.desk import NOBODY, Desk
from viewer.draw import draw_study
from viewer.page import CHOSEN, DrawingOptions, check_interval, paper_named
from viewer.pictures import mound_tint


@dataclass(frozen=True)
class Outputs:
    """The summary as written, and the names of the files."""

    summary: dict[str, object]
    names: tuple[str, ...]


def asked_of(units: Units, contours: str | None, paper: str | None) -> DrawingOptions:
    """What --contours and --paper ask of the drawings; `InputError` where they cannot be read."""
    interval = None if contours is None else parse_length(contours, units, "--contours")
    return DrawingOptions(interval, None if paper is None else paper_named(paper))


def check_asked(study: Study, asked: DrawingOptions) -> None:
    """Refuse a contour interval that this yard cannot be drawn with."""
    if asked.interval is not None:
        check_interval(asked.interval, study.ground.elevation, study.site.units)


def write_outputs(
    study: Study,
    folder: Path,
    progress: Callable[[str], None],
    asked: DrawingOptions = CHOSEN,
    desk: Desk = NOBODY,
    *,
    plan_set: bool = False,
    words: Language = ENGLISH,
) -> Outputs:
    """Write summary, drawings and meshes of one study into an existing folder, and the plan set where it is wanted.

    `desk` draws.
    """
    progress("drawing, and writing meshes")
    with desk.doing(draw_study, study, asked, words, folder):
        summary = write_models(study, folder, mound_tint(study.proposal))
    if plan_set:
        from viewer.sheets import draw_plan_set

        draw_plan_set(study, folder, asked, progress)
    return Outputs(summary, tuple(sorted(path.name for path in folder.iterdir())))
