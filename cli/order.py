"""`hummock order`: the soil order, for the yard as it is or for a what-if, with every figure an estimator needs."""

from __future__ import annotations

from pathlib import Path
from typing import Literal

import click

from cli.ending import end
from cli.options import json_option, optional_site_argument, out_folder, out_option
from cli.photo_asked import photo_options


@click.command(short_help="Work out the soil to order.")
@optional_site_argument
@click.option(
    "--outline",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="No survey and no site file: the bed's outline, a table with x and y or a GeoJSON polygon.",
)
@click.option("--units", type=click.Choice(["ft", "m"]), help="With --outline: unit of its figures (left out: ft).")
@click.option("--slope", metavar="SLOPE", help='With --outline: the steepest side, such as "3:1" (left out: 4:1).')
@click.option("--depth", metavar="LENGTH", help='What if: so deep in the mean over the bed, such as "9 in".')
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
@click.option("--client", is_flag=True, help="Pages for the client too: client.pdf, with price and signatures.")
@photo_options(required=False)
@out_option
@json_option
def order(
    site_file: Path | None,
    allow_outside: tuple[Path, ...],
    outline: Path | None,
    units: Literal["ft", "m"] | None,
    slope: str | None,
    depth: str | None,
    height: str | None,
    soil: str | None,
    kind: str | None,
    chance: str | None,
    against: Path | None,
    client: bool,
    out: Path | None,
    as_json: bool,
    **given: object,
) -> None:
    """Work out the soil order: what to buy, what to haul, how sure, at what cost.

    Writes order.pdf (the order, and its working), order.xlsx (live formulas), order.csv and order.json. Each shows
    other heights of the same mound beside it, whose soil is worked out without a new run.

    \b
    Examples:
      hummock order examples/alder-bend/site.toml
      hummock order examples/alder-bend/site.toml --height "20 in" --kind clay
      hummock order new.toml --against old.toml
      hummock order my-yard/site.toml --client --picture window.jpg --marks marks.csv
      hummock order --outline bed.csv --depth "9 in"

    With --outline the ground is taken as flat: nobody measured it, the range says so, and what 20 shots would make of
    it stands beside it. With --client a photograph of the yard (--picture, --marks) takes the place of drawn views.
    """
    from cli.progress import progress_shown

    named = yard_named(site_file, outline, units, slope, (depth, height, soil))
    folder = out_folder(named, out)
    with progress_shown() as progress:
        progress("reading the site file")
        from cli.folder import begin_run, results_in
        from cli.order_files import summary_with_order, write_order
        from cli.photo_asked import photo_asked, placed_photo
        from cli.what_if import asked_for
        from terrain.flow import run_site
        from terrain.site import read_site
        from terrain.suggest import site_of_outline
        from viewer.desk import second_desk
        from viewer.page import load_letters

        run = begin_run(folder, "order", named)
        pictured = photo_asked(given)
        if pictured is not None and not client:
            raise click.UsageError("--picture goes with --client.", click.get_current_context())
        site = site_of_outline(named, units or "ft", slope) if outline else read_site(named, allow_outside)
        with second_desk(load_letters) as desk:
            study = run_site(site, asked_for(site.units, height, soil, kind, chance, depth), progress=progress)
            progress("trying other heights")
            summary = summary_with_order(study)
            other = None
            if against is not None:
                progress("working the other site file")
                from dataclasses import asdict

                from terrain.against import compared

                other = compared(study, run_site(read_site(against, allow_outside)))
                summary["against"] = asdict(other)
            photo = None if pictured is None else placed_photo(pictured, study, progress)
            with results_in(folder, run) as aside:
                names = write_order(study, summary, aside, progress, desk, client, photo)

    def report() -> None:
        from cli.order_report import print_order

        print_order(study, names, folder, from_outline=outline is not None)
        if other is not None and against is not None:
            from cli.against_report import print_against

            print_against(other, site.units, str(against))

    end(summary, as_json=as_json, report=report, stopped=study.review.stopped)


def yard_named(
    site_file: Path | None,
    outline: Path | None,
    units: str | None,
    slope: str | None,
    heights: tuple[str | None, ...],
) -> Path:
    """The file that the order starts from: a site file, or an outline alone.

    Raises `InputError` for both or neither, for what goes with the other, and for an outline that nothing says the
    height of.
    """
    from terrain.errors import InputError

    if (site_file is None) == (outline is None):
        both = "both are given" if outline else "neither is given"
        raise InputError(
            "SITE.toml and --outline", f"{both}.", 'One of them, such as --outline bed.csv --depth "9 in".'
        )
    if site_file is not None:
        if units or slope:
            raise InputError("--units and --slope", "a site file says them itself.", "Give them with --outline.")
        return site_file
    assert outline is not None
    if not any(heights):
        raise InputError("--outline", "nothing says how high the mound is.", 'Give --depth "9 in" or --height "20 in".')
    return outline
