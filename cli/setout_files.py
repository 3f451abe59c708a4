"""Every file that `setout` writes into a folder."""

from __future__ import annotations

from pathlib import Path

from terrain.field import SetOut, known_csv, set_out_csv, set_out_plain
from terrain.files import as_json, summary_of
from terrain.flow import Study
from terrain.language import Language
from terrain.soil import round_offset
from terrain.units import Units
from viewer.desk import Desk
from viewer.sheets import draw_set_out, in_language


def summary_with_stakes(study: Study, stakes: SetOut) -> dict[str, object]:
    """The keys of the summary, and the stakes under "setout"."""
    summary = summary_of(study, round_offset(study.proposal.mesh, study.site.bed.sod))
    return {**summary, "setout": set_out_plain(stakes)}


def write_set_out(
    study: Study, stakes: SetOut, summary: dict[str, object], folder: Path, words: Language, desk: Desk
) -> tuple[str, ...]:
    """Write setout.pdf, both tables and setout.json into an existing folder; answers their names."""
    with desk.doing(_draw, study, stakes, folder / "setout.pdf", words):
        write_stakes(stakes, study.site.units, folder, "setout")
        (folder / "setout.json").write_text(as_json(summary), encoding="utf-8")
    return tuple(sorted(path.name for path in folder.iterdir()))


def _draw(study: Study, stakes: SetOut, path: Path, words: Language) -> None:
    with in_language(study.site, words):
        draw_set_out(study, stakes, path)


def write_stakes(stakes: SetOut, units: Units, folder: Path, stem: str) -> list[str]:
    """Write the stakes as `stem`.csv and what they are measured from as `stem`-known.csv; answers their names."""
    tables = {f"{stem}.csv": set_out_csv(stakes, units), f"{stem}-known.csv": known_csv(stakes, units)}
    for name, text in tables.items():
        (folder / name).write_text(text, encoding="utf-8", newline="")
    return list(tables)
