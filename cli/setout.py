"""`hummock setout`: stakes for the crew, by tape and level."""

from __future__ import annotations

from pathlib import Path

import click

from cli.ending import end
from cli.options import json_option, out_folder, out_option, site_argument


@click.command(short_help="Stake out the mound for the crew.")
@site_argument
@click.option("--spacing", metavar="LENGTH", help="Greatest distance between stakes (default: 5 ft or 1.5 m).")
@click.option("--instrument", metavar="ELEVATION", help="Height of instrument: adds rod readings.")
@click.option("--benchmark", metavar="SHOT|ELEVATION", help="With --backsight, in place of --instrument.")
@click.option("--backsight", metavar="READING", help="What the rod reads on the benchmark.")
@out_option
@json_option
def setout(
    site_file: Path,
    allow_outside: tuple[Path, ...],
    spacing: str | None,
    instrument: str | None,
    benchmark: str | None,
    backsight: str | None,
    out: Path | None,
    as_json: bool,
) -> None:
    """Stake out the mound: two tapes, station and offset, and the grades at every stake.

    Writes setout.pdf, setout.csv and setout.json. Stakes stand on the outline, the crest, section ends and toes, round
    each keep-off, on the rims of digs and along stones.

    \b
    Examples:
      hummock setout examples/alder-bend/site.toml
      hummock setout examples/alder-bend/site.toml --spacing "4 ft" --benchmark 18 --backsight 4.32
    """
    from cli.progress import progress_shown

    folder = out_folder(site_file, out)
    with progress_shown() as progress:
        progress("reading the site file")
        from cli.folder import begin_run, results_in
        from cli.setout_files import staked, summary_with_stakes, write_set_out
        from terrain.field import asked_level
        from terrain.flow import run_site
        from terrain.site import read_site
        from terrain.units import parse_length

        run = begin_run(folder, "setout", site_file)
        site = read_site(site_file, allow_outside)
        level = asked_level(site, instrument, benchmark, backsight)
        wide = None if spacing is None else parse_length(spacing, site.units, "--spacing")
        study = run_site(site, progress=progress)
        progress("setting out")
        stakes = staked(study, wide, level)
        summary = summary_with_stakes(study, stakes)
        with results_in(folder, run) as aside:
            names = write_set_out(study, stakes, summary, aside)
    from cli.setout_report import print_set_out

    end(
        summary,
        as_json=as_json,
        report=lambda: print_set_out(study, stakes, names, folder),
        stopped=study.review.stopped,
    )
