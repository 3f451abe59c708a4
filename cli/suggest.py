"""`hummock suggest`: other forms inside the same outline, limits and soil, side by side and each as a site file."""

from __future__ import annotations

from pathlib import Path

import click

from cli.ending import end
from cli.options import json_option, out_folder, out_option, site_argument


@click.command(short_help="Suggest other forms inside the limits.")
@site_argument
@out_option
@json_option
def suggest(site_file: Path, allow_outside: tuple[Path, ...], out: Path | None, as_json: bool) -> None:
    """Suggest three to seven other forms that keep every limit.

    Each stands inside the same outline. All take the soil on hand where the site file states it; else each says what
    share of the drawn form's soil it takes, and why. One can be mown (5:1), one stays clear of half of the root zone
    under the bed. The sheet suggest.pdf (and .png, .svg) shows them
    beside that form; suggest-1.toml and so on are site files that `hummock shape` runs as they are, comments
    kept.

    \b
    Examples:
      hummock suggest examples/alder-bend/site.toml
      hummock shape examples/alder-bend/out/suggest-1.toml
    """
    from cli.progress import progress_shown

    folder = out_folder(site_file, out)
    with progress_shown() as progress:
        progress("reading the site file")
        from cli.folder import begin_run, results_in
        from cli.suggest_files import suggest_forms, summary_with_suggestions, write_suggestions
        from terrain.site import read_site

        run = begin_run(folder, "suggest", site_file)
        worked = suggest_forms(read_site(site_file, allow_outside), progress)
        summary = summary_with_suggestions(worked)
        with results_in(folder, run) as aside:
            names = write_suggestions(worked, site_file, summary, aside, folder, progress)
    from cli.suggest_report import print_suggestions

    end(
        summary,
        as_json=as_json,
        report=lambda: print_suggestions(worked, names, folder),
        stopped=any(study.review.stopped for study in worked.studies),
    )
