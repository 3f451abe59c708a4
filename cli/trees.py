"""`hummock trees`: what the work does to each tree, and a page for each that an arborist can read, mark and sign."""

from __future__ import annotations

from pathlib import Path

import click

from cli.ending import end
from cli.options import json_option, language_option, out_folder, out_option, site_argument


def _plan_options(command: click.decorators.FC) -> click.decorators.FC:
    """The options that say how somebody else's plan is to be taken."""
    options = (
        ("--plan", "plan", click.Path(path_type=Path), False, "FILE.dxf", "Check somebody else's design instead."),
        ("--layer", "layers", None, True, "USE=LAYER", "What a layer of the plan is for; again for more."),
        ("--units", "units", None, False, "UNIT", "Unit of the plan, where it names none or a wrong one."),
        (
            "--trunk",
            "trunks",
            None,
            True,
            "[TREE=]LENGTH",
            "A trunk that the plan lacks, or the unit of its figures.",
        ),
        ("--rule", "rule", None, False, "RULE", "Root zone rule for a plan (default: 1 ft per inch)."),
        ("--max-slope", "slope", None, False, "SLOPE", "Steepest side that a plan is held to (default: 2:1)."),
    )
    for flag, name, kind, several, metavar, told in reversed(options):
        add = click.option(flag, name, type=kind, multiple=several, metavar=metavar, help=told)
        command = add(command)
    return command


@click.command(short_help="Check the roots of every tree.")
@lambda command: site_argument(command, required=False)
@_plan_options
@language_option
@out_option
@json_option
def trees(
    site_file: Path | None,
    allow_outside: tuple[Path, ...],
    plan: Path | None,
    layers: tuple[str, ...],
    units: str | None,
    trunks: tuple[str, ...],
    rule: str | None,
    slope: str | None,
    language: str,
    out: Path | None,
    as_json: bool,
) -> None:
    """Check the roots of every tree: soil by ring and depth, digging, heaps, and what lies in the keep-off.

    Writes trees.pdf (a plan page for each tree, with room for the arborist's own marks, remarks and signature) and
    trees.json (the summary).

    With --plan it checks somebody else's design: a DXF with existing and proposed contours, spot elevations or faces,
    and trees as symbols. Each layer is listed with what it looks like and what it was taken for; where that is not
    clear, --layer says it: existing, proposed, outline, trees, building, boundary or unused.

    \b
    Examples:
      hummock trees examples/alder-bend/site.toml
      hummock trees --plan plan.dxf
      hummock trees --plan plan.dxf --layer trees=TREE_EX --layer proposed=L-GRAD --trunk "24 in"
    """
    if plan is not None:
        if site_file is not None:
            raise click.UsageError("a plan is checked without a site file.", click.get_current_context())
        _check_plan(plan, (layers, units, trunks, rule, slope), language, out, as_json)
        return
    if site_file is None:
        raise click.UsageError("Missing argument 'SITE.toml', or --plan FILE.dxf.", click.get_current_context())
    if any((layers, units, trunks, rule, slope)):
        told = "--layer, --units, --trunk, --rule and --max-slope go with --plan."
        raise click.UsageError(told, click.get_current_context())
    _check_site(site_file, allow_outside, language, out, as_json)


def _check_site(
    site_file: Path, allow_outside: tuple[Path, ...], language: str, out: Path | None, as_json: bool
) -> None:
    from cli.progress import progress_shown

    folder = out_folder(site_file, out)
    with progress_shown() as progress:
        progress("reading the site file")
        from cli.folder import begin_run, results_in
        from cli.tree_files import refuse_treeless, write_trees
        from terrain.language import language_named
        from terrain.root_check import run_roots
        from terrain.site import read_site
        from viewer.desk import second_desk
        from viewer.page import load_letters

        run = begin_run(folder, "trees", site_file)
        site = read_site(site_file, allow_outside)
        words = language_named(language)
        refuse_treeless(site, site_file)
        with second_desk(load_letters) as desk:
            study = run_roots(site, progress=progress)
            with results_in(folder, run) as aside:
                summary, names = write_trees(study, aside, progress, words, desk=desk)
    from cli.tree_report import print_trees

    end(
        summary,
        as_json=as_json,
        report=lambda: print_trees(study, names, folder),
        stopped=study.review.stopped,
    )


Typed = tuple[tuple[str, ...], str | None, tuple[str, ...], str | None, str | None]


def _check_plan(plan: Path, typed: Typed, language: str, out: Path | None, as_json: bool) -> None:
    from cli.progress import progress_shown

    folder = out_folder(plan, out)
    with progress_shown() as progress:
        from cli.folder import begin_run, results_in
        from cli.plan import check_plan, plan_options, plan_plain, print_plan
        from cli.tree_files import write_trees
        from terrain.language import language_named

        asked, words = plan_options(*typed), language_named(language)
        run = begin_run(folder, "trees", plan)
        design, study = check_plan(plan, asked, progress)
        with results_in(folder, run) as aside:
            summary, names = write_trees(study, aside, progress, words, {"plan": plan_plain(design)})
    end(
        summary,
        as_json=as_json,
        report=lambda: print_plan(design, study, names, folder),
        stopped=study.review.stopped,
    )
