"""`hummock field`: one file for the phone, with level book, tapes, stakes and built shots."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

import click

from cli.ending import end
from cli.options import json_option, language_option, out_folder, site_argument

if TYPE_CHECKING:
    from terrain.field import SetOut
    from terrain.flow import Study

NAME = "field.html"


@click.command(short_help="One page for the phone.")
@partial(site_argument, required=False)
@click.option("--out", "out", metavar="FILE", type=click.Path(path_type=Path), help=f"The page (default: {NAME}).")
@click.option("--units", type=click.Choice(["ft", "m"]), default="ft", show_default=True, help="Without a site file.")
@language_option
@json_option
def field(
    site_file: Path | None, allow_outside: tuple[Path, ...], out: Path | None, units: str, language: str, as_json: bool
) -> None:
    """Write one page for the phone: level book, tapes, stakes, and built shots against the grade of day one.

    It opens from a file with no network, keeps what is typed, and hands over levels.csv, ties.csv and built.csv as the
    site file reads them. Without a site file it measures any yard. Written to out/field.html beside the site file,
    or where --out says.

    \b
    Examples:
      hummock field examples/alder-bend/site.toml --out field.html
      hummock field --units m
    """
    from cli.progress import progress_shown

    with progress_shown() as progress:
        from terrain.files import refuse_held
        from terrain.language import language_named
        from viewer.web import write_field

        words = language_named(language)
        path = out or (Path(NAME) if site_file is None else out_folder(site_file, None) / NAME)
        refuse_held(path.parent, [path.name])
        study, stakes = (None, None) if site_file is None else _worked(site_file, allow_outside, progress)
        progress("writing the page")
        write_field(study, stakes, study.site.units if study else "m" if units == "m" else "ft", path, words)
    size = path.stat().st_size
    summary: dict[str, object] = {"field": {"file": str(path), "bytes": size, "grade": "day one"}}
    if study is not None:
        from terrain.files import summary_of
        from terrain.soil import round_offset

        summary = {**summary_of(study, round_offset(study.proposal.mesh, study.site.bed.sod)), **summary}
    told = f"Wrote {path} ({size / 1e6:.2f} MB): one page for the phone that needs no network."
    end(
        summary,
        as_json=as_json,
        report=lambda: click.echo(told),
        stopped=study is not None and study.review.stopped,
    )


def _worked(site_file: Path, allow_outside: tuple[Path, ...], progress: Callable[[str], None]) -> tuple[Study, SetOut]:
    """The yard worked through, and its stakes."""
    from terrain.field import set_out
    from terrain.flow import run_site
    from terrain.site import read_site

    study = run_site(read_site(site_file, allow_outside), progress=progress)
    return study, set_out(study)
