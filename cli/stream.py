"""`hummock stream`: flow, basin, lift, sheet and stones of a stream on the mound."""

from __future__ import annotations

from pathlib import Path

import click

from cli.ending import end
from cli.options import json_option, out_folder, out_option, site_argument


@click.command(short_help="Work out what a stream needs.")
@site_argument
@out_option
@json_option
def stream(site_file: Path, allow_outside: tuple[Path, ...], out: Path | None, as_json: bool) -> None:
    """Work out what a stream on the mound needs: water, basin, pump, sheet, stones.

    Writes stream.pdf (long section, basin, sheet drawn flat, lists) and stream.json. The site file has a [[stream]]
    that ends in a [[basin]], and says under [water] how much runs and through which pipe.

    \b
    Examples:
      hummock stream my-yard/site.toml
      hummock stream my-yard/site.toml --json
    """
    from cli.progress import progress_shown

    folder = out_folder(site_file, out)
    with progress_shown() as progress:
        progress("reading the site file")
        from cli.folder import begin_run, results_in
        from cli.stream_files import refuse_without_stream, summary_with_stream, write_stream
        from terrain.flow import run_site
        from terrain.site import read_site
        from viewer.desk import second_desk
        from viewer.page import load_letters

        run = begin_run(folder, "stream", site_file)
        site = read_site(site_file, allow_outside)
        refuse_without_stream(site, site_file)
        with second_desk(load_letters) as desk:
            study = run_site(site, progress=progress)
            progress("drawing the long section")
            summary = summary_with_stream(study)
            with results_in(folder, run) as aside:
                names = write_stream(study, summary, aside, desk)
    from cli.stream_report import print_stream

    end(
        summary,
        as_json=as_json,
        report=lambda: print_stream(study, names, folder),
        stopped=study.review.stopped,
    )
