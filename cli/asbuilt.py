"""`hummock asbuilt`: is it built right, and how much is still missing."""

from __future__ import annotations

from pathlib import Path

import click

from cli.ending import end
from cli.options import json_option, out_folder, out_option, site_argument


@click.command(short_help="Check what was built against the design.")
@site_argument
@click.option(
    "--shots",
    "shots_file",
    metavar="FILE",
    required=True,
    type=click.Path(path_type=Path),
    help="Shots on the built soil, in the survey's coordinates and off its benchmark.",
)
@click.option("--settled", is_flag=True, help="Hold them against the settled grade, not that of day one.")
@click.option("--tolerance", metavar="LENGTH", help="How far a shot may stand off (default: 0.1 ft or 3 cm).")
@out_option
@json_option
def asbuilt(
    site_file: Path,
    allow_outside: tuple[Path, ...],
    shots_file: Path,
    settled: bool,
    tolerance: str | None,
    out: Path | None,
    as_json: bool,
) -> None:
    """Check what was built: every shot against the plan, slopes, keep-offs, and the soil still missing.

    Shots go on the soil, before any mulch; a few beside the mound show a slip in the benchmark. Writes asbuilt.pdf,
    asbuilt.png, asbuilt-shots.csv and asbuilt.json.

    \b
    Examples:
      hummock asbuilt my-yard/site.toml --shots my-yard/asbuilt.csv
      hummock asbuilt my-yard/site.toml --shots my-yard/next-spring.csv --settled --tolerance "1 in"
    """
    from cli.progress import progress_shown

    folder = out_folder(site_file, out)
    with progress_shown() as progress:
        progress("reading the site file")
        from cli.asbuilt_files import summary_with_check, write_as_built
        from cli.folder import begin_run, results_in
        from terrain.field import check_as_built, read_built
        from terrain.flow import run_site
        from terrain.site import read_site
        from terrain.units import parse_length
        from viewer.desk import second_desk
        from viewer.page import load_letters

        run = begin_run(folder, "asbuilt", site_file, shots_file)
        site = read_site(site_file, allow_outside)
        built = read_built(shots_file, site)
        most = None if tolerance is None else parse_length(tolerance, site.units, "--tolerance")
        with second_desk(load_letters) as desk:
            study = run_site(site, progress=progress)
            progress("checking what was built")
            check = check_as_built(study, built, "settled" if settled else "day one", most)
            summary = summary_with_check(study, check)
            with results_in(folder, run) as aside:
                names = write_as_built(study, check, summary, aside, desk)
    from cli.asbuilt_report import print_as_built

    end(
        summary,
        as_json=as_json,
        report=lambda: print_as_built(study, check, names, folder),
        stopped=check.stopped,
    )
