"""`hummock crew`: the crew's sheet, the day on one page and the mound in squares that hold barrows."""

from __future__ import annotations

from pathlib import Path

import click

from cli.ending import end
from cli.options import json_option, language_option, out_folder, out_option, site_argument


@click.command(short_help="One sheet for the crew.")
@site_argument
@language_option
@out_option
@json_option
def crew(site_file: Path, allow_outside: tuple[Path, ...], language: str, out: Path | None, as_json: bool) -> None:
    """Print the crew's sheet: the day in order with amounts and hours, and the mound in squares that hold barrows.

    Writes crew.pdf (large type, black on white) and crew.json. Every figure is of day one, as the mound is built. Hours
    are by published rates for hand work, or by your own under [crew] in the site file.

    \b
    Examples:
      hummock crew examples/alder-bend/site.toml
      hummock crew examples/alder-bend/site.toml --language es
    """
    from cli.progress import progress_shown

    folder = out_folder(site_file, out)
    with progress_shown() as progress:
        progress("reading the site file")
        from cli.crew_files import summary_with_crew, write_crew
        from cli.folder import begin_run, results_in
        from terrain.field import crew_day, set_out
        from terrain.flow import run_site
        from terrain.language import language_named
        from terrain.site import read_site
        from viewer.desk import second_desk
        from viewer.page import load_letters

        run = begin_run(folder, "crew", site_file)
        site = read_site(site_file, allow_outside)
        words = language_named(language)
        with second_desk(load_letters) as desk:
            study = run_site(site, progress=progress)
            progress("setting out")
            stakes = set_out(study)
            day = crew_day(study, stakes)
            summary = summary_with_crew(study, day)
            with results_in(folder, run) as aside:
                names = write_crew(study, stakes, day, summary, aside, words, desk)
    from cli.crew_report import print_crew

    end(
        summary,
        as_json=as_json,
        report=lambda: print_crew(study, day, words, names, folder),
        stopped=study.review.stopped,
    )
