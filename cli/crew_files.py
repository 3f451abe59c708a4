"""Every file that `crew` writes into a folder."""

from __future__ import annotations

from pathlib import Path

from terrain.field import CrewDay, SetOut, crew_plain
from terrain.files import as_json, summary_of
from terrain.flow import Study
from terrain.language import Language
from terrain.soil import round_offset
from viewer.desk import Desk
from viewer.sheets import draw_crew


def summary_with_crew(study: Study, day: CrewDay) -> dict[str, object]:
    """The keys of the summary, and the crew's day under "crew"."""
    summary = summary_of(study, round_offset(study.proposal.mesh, study.site.bed.sod))
    return {**summary, "crew": crew_plain(day)}


def write_crew(
    study: Study, stakes: SetOut, day: CrewDay, summary: dict[str, object], folder: Path, words: Language, desk: Desk
) -> tuple[str, ...]:
    """Write crew.pdf and crew.json into an existing folder; answers their names."""
    with desk.doing(draw_crew, study, stakes, day, folder / "crew.pdf", words):
        (folder / "crew.json").write_text(as_json(summary), encoding="utf-8")
    return tuple(sorted(path.name for path in folder.iterdir()))
