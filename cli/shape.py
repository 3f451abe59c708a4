"""`hummock shape`: the main job, from shots to ordered soil, drawings and meshes."""

from __future__ import annotations

from pathlib import Path

import click

from cli.ending import end
from cli.options import json_option, language_option, out_folder, out_option, site_argument


@click.command(short_help="Do the whole job: shape, order, check, draw.")
@site_argument
@click.option("--plan-set", is_flag=True, help="Write plan-set.pdf too: every sheet that the crew takes along.")
@click.option("--contours", metavar="LENGTH", help='Interval between contours, such as "0.5 ft" (default: chosen).')
@click.option("--paper", metavar="NAME", help="Paper of the drawings: letter, tabloid, 17x22, 22x34, A4 to A1.")
@language_option
@out_option
@json_option
def shape(
    site_file: Path,
    allow_outside: tuple[Path, ...],
    plan_set: bool,
    contours: str | None,
    paper: str | None,
    language: str,
    out: Path | None,
    as_json: bool,
) -> None:
    """Shape the berm of a site file and write everything.

    Reads the site and its measurements, models the existing grade, builds the berm under its limits, works
    out the soil to order, checks every tree, and writes drawings, meshes and summary.json. --language is that of
    review.pdf, the sheet of cautions.

    \b
    Examples:
      hummock shape examples/alder-bend/site.toml
      hummock shape examples/alder-bend/site.toml --plan-set --contours "0.25 ft" --paper tabloid
    """
    from cli.progress import progress_shown

    folder = out_folder(site_file, out)
    with progress_shown() as progress:
        progress("reading the site file")
        from cli import outputs
        from cli.folder import begin_run, results_in
        from terrain.flow import run_site
        from terrain.language import language_named
        from terrain.site import read_site
        from viewer.desk import second_desk
        from viewer.page import load_letters

        run = begin_run(folder, "shape", site_file)
        site = read_site(site_file, allow_outside)
        words = language_named(language)
        asked = outputs.asked_of(site.units, contours, paper)
        with second_desk(load_letters) as desk:
            study = run_site(site, progress=progress)
            outputs.check_asked(study, asked)
            with results_in(folder, run) as aside:
                written = outputs.write_outputs(study, aside, progress, asked, desk, plan_set=plan_set, words=words)
    from cli.report import print_report

    end(
        written.summary,
        as_json=as_json,
        report=lambda: print_report(study, written, folder),
        stopped=study.review.stopped,
    )
