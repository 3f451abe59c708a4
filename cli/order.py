"""`hummock order`: the soil order, for the yard as it is or for a what-if, with every figure an estimator needs."""

from __future__ import annotations

from pathlib import Path

import click

from cli.ending import end
from cli.options import json_option, out_folder, out_option, site_argument


@click.command(short_help="Work out the soil to order.")
@site_argument
@click.option("--height", metavar="FACTOR|LENGTH", help='What if: heights times 0.8, or the top at "20 in".')
@click.option("--soil", metavar="VOLUME", help='What if: soil on hand, loose, such as "14 cu yd".')
@click.option("--kind", metavar="KIND", help="What if: another kind of soil, such as clay.")
@click.option("--chance", metavar="SHARE", help='What if: another chance of having enough, such as "90 %".')
@click.option(
    "--against",
    type=click.Path(path_type=Path),
    metavar="SITE.toml",
    help="Another site file: what differs in soil, height, trees and money, and why.",
)
@click.option("--client", is_flag=True, help="A page for the client too: client.pdf, with price and signatures.")
@out_option
@json_option
def order(
    site_file: Path,
    allow_outside: tuple[Path, ...],
    height: str | None,
    soil: str | None,
    kind: str | None,
    chance: str | None,
    against: Path | None,
    client: bool,
    out: Path | None,
    as_json: bool,
) -> None:
    """Work out the soil order: what to buy, what to haul, how sure, at what cost.

    Writes order.pdf (the order, and its working), order.xlsx (live formulas), order.csv and order.json. Each shows
    other heights of the same mound beside it, whose soil is worked out without a new run.

    \b
    Examples:
      hummock order examples/alder-bend/site.toml
      hummock order examples/alder-bend/site.toml --height "20 in" --kind clay
      hummock order new.toml --against old.toml
    """
    from cli.progress import progress_shown

    folder = out_folder(site_file, out)
    with progress_shown() as progress:
        progress("reading the site file")
        from cli.folder import begin_run, results_in
        from cli.order_files import summary_with_order, write_order
        from cli.what_if import asked_for
        from terrain.flow import run_site
        from terrain.site import read_site

        run = begin_run(folder, "order", site_file)
        site = read_site(site_file, allow_outside)
        study = run_site(site, asked_for(site.units, height, soil, kind, chance), progress=progress)
        progress("trying other heights")
        summary = summary_with_order(study)
        other = None
        if against is not None:
            progress("working the other site file")
            from dataclasses import asdict

            from terrain.against import compared

            other = compared(study, run_site(read_site(against, allow_outside)))
            summary["against"] = asdict(other)
        with results_in(folder, run) as aside:
            names = write_order(study, summary, aside, progress, client)

    def report() -> None:
        from cli.order_report import print_order

        print_order(study, names, folder)
        if other is not None and against is not None:
            from cli.against_report import print_against

            print_against(other, site.units, str(against))

    end(summary, as_json=as_json, report=report, stopped=study.review.stopped)
