"""`hummock setout`: stakes for the crew, by tape and level."""

from __future__ import annotations

from pathlib import Path

import click

from cli.ending import end
from cli.options import json_option, language_option, out_folder, out_option, site_argument, stage_option


@click.command(short_help="Stake out the mound for the crew.")
@site_argument
@click.option("--spacing", metavar="LENGTH", help="Greatest distance between stakes along the foot.")
@click.option(
    "--tolerance", metavar="LENGTH", help="How far the mound may stand off the grade (default: 0.1 ft or 3 cm)."
)
@stage_option("day-one")
@click.option("--instrument", metavar="ELEVATION", help="Height of instrument: adds rod readings.")
@click.option("--benchmark", metavar="SHOT|ELEVATION", help="With --backsight, in place of --instrument.")
@click.option("--backsight", metavar="READING", help="What the rod reads on the benchmark.")
@language_option
@out_option
@json_option
def setout(
    site_file: Path,
    allow_outside: tuple[Path, ...],
    spacing: str | None,
    tolerance: str | None,
    stage: str,
    instrument: str | None,
    benchmark: str | None,
    backsight: str | None,
    language: str,
    out: Path | None,
    as_json: bool,
) -> None:
    """Stake out the mound: as few stakes as carry it within the tolerance, with two tapes, station and offset, and the
    grades at each.

    Writes setout.pdf, setout.csv, setout-known.csv and setout.json. Stakes stand at the foot, the crest and the edges
    of terraces, digs and stones, and wherever a surface strung between them would stand off the grade by more.

    \b
    Examples:
      hummock setout examples/alder-bend/site.toml
      hummock setout examples/alder-bend/site.toml --tolerance "2 in" --benchmark 18 --backsight 4.32
    """
    from cli.progress import progress_shown

    folder = out_folder(site_file, out)
    with progress_shown() as progress:
        progress("reading the site file")
        from cli.folder import begin_run, results_in
        from cli.setout_files import summary_with_stakes, write_set_out
        from terrain.field import asked_level, set_out
        from terrain.flow import run_site
        from terrain.language import language_named
        from terrain.site import read_site
        from terrain.units import parse_length
        from viewer.desk import second_desk
        from viewer.page import load_letters

        run = begin_run(folder, "setout", site_file)
        site = read_site(site_file, allow_outside)
        words = language_named(language)
        level = asked_level(site, instrument, benchmark, backsight)
        wide = None if spacing is None else parse_length(spacing, site.units, "--spacing")
        most = None if tolerance is None else parse_length(tolerance, site.units, "--tolerance")
        with second_desk(load_letters) as desk:
            study = run_site(site, progress=progress)
            progress("setting out")
            stakes = set_out(study, wide, level, "day one" if stage == "day-one" else "finished", most)
            summary = summary_with_stakes(study, stakes)
            with results_in(folder, run) as aside:
                names = write_set_out(study, stakes, summary, aside, words, desk)
    from cli.setout_report import print_set_out

    end(
        summary,
        as_json=as_json,
        report=lambda: print_set_out(study, stakes, names, folder),
        stopped=study.review.stopped,
    )
