"""Every file that `stream` writes into a folder."""

from __future__ import annotations

from pathlib import Path

from terrain.errors import InputError
from terrain.files import as_json, streams_plain, summary_of
from terrain.flow import Study
from terrain.review import listed
from terrain.site import Site
from terrain.soil import round_offset
from terrain.waterworks import lacks
from viewer.desk import NOBODY, Desk
from viewer.sheets import draw_streams


def refuse_without_stream(site: Site, site_file: Path) -> None:
    """Raise `InputError` where the site file does not say what a stream's needs follow from: what to add."""
    missing = lacks(site)
    if missing:
        what = listed([words for words, _ in missing])
        raise InputError(
            str(site_file), f"nothing is said of {what}.", f"Add {'; '.join(added for _, added in missing)}."
        )


def summary_with_stream(study: Study) -> dict[str, object]:
    """The keys of the summary, and the stream under "stream"."""
    summary = summary_of(study, round_offset(study.proposal.mesh, study.site.bed.sod))
    return {**summary, **streams_plain(study)}


def write_stream(study: Study, summary: dict[str, object], folder: Path, desk: Desk = NOBODY) -> tuple[str, ...]:
    """Write stream.pdf and stream.json into an existing folder; answers their names."""
    with desk.doing(draw_streams, study, folder / "stream.pdf"):
        (folder / "stream.json").write_text(as_json(summary), encoding="utf-8")
    return tuple(sorted(path.name for path in folder.iterdir()))
