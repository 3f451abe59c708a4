"""`hummock view`: the mound in 3D, as a picture, a window, one file to send, or a local page to shape it on."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from cli.errors import DONE, LIMIT_BROKEN
from cli.options import json_option, out_option, site_argument

if TYPE_CHECKING:
    from terrain.study import Study


@click.command()
@site_argument
@out_option
@json_option
@click.option(
    "--share", metavar="FILE", type=click.Path(path_type=Path, dir_okay=False), help="Write one page to send."
)
def view(site_file: Path, out: Path | None, as_json: bool, share: Path | None) -> None:
    """See the mound in 3D.

    \b
    --share FILE   one page to send: opens on a phone with no server and no network
    """
    study, words = _shared(site_file, share or site_file.with_suffix(".html"))
    _tell(study, words, as_json)


def _shared(site_file: Path, path: Path) -> tuple[Study, str]:
    """Work the yard through and write the page."""
    from cli.progress import progress_shown

    with progress_shown() as progress:
        progress("reading the site file")
        from terrain.site.read import read_site
        from terrain.study import run_site
        from viewer.screen.share import write_share

        study = run_site(read_site(site_file), progress)
        progress("writing the page")
        write_share(study, path)
    return study, f"Wrote {path} ({path.stat().st_size / 1e6:.2f} MB): one page that needs no network."


def _tell(study: Study, words: str, as_json: bool) -> None:
    """Say what was made, or print the summary, and leave with the status of the findings."""
    if as_json:
        from cli.outputs import as_json as json_text
        from terrain.earthwork.solid import round_offset
        from terrain.summary import summary_of

        offset = round_offset(study.proposal.mesh, study.site.bed.sod)
        click.echo(json_text(summary_of(study, offset)), nl=False)
    else:
        click.echo(words)
    click.get_current_context().exit(LIMIT_BROKEN if study.review.stopped else DONE)
