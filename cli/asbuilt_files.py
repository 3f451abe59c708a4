"""Every file that `asbuilt` writes into a folder."""

from __future__ import annotations

from pathlib import Path

from terrain.field import AsBuilt, as_built_csv, as_built_plain
from terrain.files import as_json, summary_of
from terrain.flow import Study
from terrain.soil import round_offset
from viewer.desk import Desk
from viewer.sheets import draw_as_built


def summary_with_check(study: Study, check: AsBuilt) -> dict[str, object]:
    """The keys of the plan's summary, and the check under "asbuilt"."""
    summary = summary_of(study, round_offset(study.proposal.mesh, study.site.bed.sod))
    return {**summary, "asbuilt": as_built_plain(check, study.site.units)}


def write_as_built(
    study: Study, check: AsBuilt, summary: dict[str, object], folder: Path, desk: Desk
) -> tuple[str, ...]:
    """Write asbuilt.pdf, asbuilt.png, asbuilt-shots.csv and asbuilt.json into a folder; answers their names."""
    with desk.doing(draw_as_built, study, check, folder):
        table = as_built_csv(check, study.site.units)
        (folder / "asbuilt-shots.csv").write_text(table, encoding="utf-8", newline="")
        (folder / "asbuilt.json").write_text(as_json(summary), encoding="utf-8")
    return tuple(sorted(path.name for path in folder.iterdir()))
