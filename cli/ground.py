"""`hummock ground`: the existing grade, its doubtful shots, how sure the soil is, and where to shoot next."""

from __future__ import annotations

from pathlib import Path

import click

from cli.ending import end
from cli.options import json_option, out_folder, out_option, site_argument


@click.command(short_help="Show the ground as it is and how sure it is.")
@site_argument
@out_option
@json_option
def ground(site_file: Path, allow_outside: tuple[Path, ...], out: Path | None, as_json: bool) -> None:
    """Model the existing grade: how it was made, which shots are doubtful, how sure the soil is, where to shoot next.

    Writes ground.pdf (contour plan, and a map of how sure it is), ground.png, sureness.png and ground.json; of a scan
    scan.png too, which shows what was taken for ground, and its trunks as scan-trees.toml. A doubtful shot does not
    pull the kriged ground to itself, and stays in the survey until [survey] leave_out names it.

    \b
    Example:
      hummock ground examples/alder-bend/site.toml
    """
    from cli.progress import progress_shown

    folder = out_folder(site_file, out)
    with progress_shown() as progress:
        progress("reading the site file")
        from cli.folder import begin_run, results_in
        from cli.ground_files import summary_with_ground, write_ground
        from terrain.field import where_next
        from terrain.flow import run_site
        from terrain.site import read_site
        from viewer.desk import second_desk
        from viewer.page import load_letters

        run = begin_run(folder, "ground", site_file)
        site = read_site(site_file, allow_outside)
        with second_desk(load_letters) as desk:
            study = run_site(site, progress=progress)
            progress("looking where to shoot next")
            wanted = where_next(study)
            summary = summary_with_ground(study, wanted)
            progress("drawing the ground")
            with results_in(folder, run) as aside:
                names = write_ground(study, wanted, summary, aside, desk)
    from cli.ground_report import print_ground

    end(
        summary,
        as_json=as_json,
        report=lambda: print_ground(study, wanted, names, folder),
        stopped=study.review.stopped,
    )
