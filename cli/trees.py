"""`hummock trees`: what the work does to each tree, and a page for each that an arborist can read, mark and sign."""

from __future__ import annotations

from pathlib import Path

import click

from cli.ending import end
from cli.options import json_option, language_option, out_folder, out_option, site_argument


@click.command(short_help="Check the roots of every tree.")
@site_argument
@language_option
@out_option
@json_option
def trees(site_file: Path, allow_outside: tuple[Path, ...], language: str, out: Path | None, as_json: bool) -> None:
    """Check the roots of every tree: soil by ring and depth, digging, heaps, and what lies in the keep-off.

    Writes trees.pdf (a plan page for each tree, with room for the arborist's own marks, remarks and signature) and
    trees.json (the summary).

    \b
    Example:
      hummock trees examples/alder-bend/site.toml
    """
    from cli.progress import progress_shown

    folder = out_folder(site_file, out)
    with progress_shown() as progress:
        progress("reading the site file")
        from cli.folder import begin_run, results_in
        from cli.tree_files import refuse_treeless, write_trees
        from terrain.flow import run_site
        from terrain.language import language_named
        from terrain.site import read_site

        run = begin_run(folder, "trees", site_file)
        site = read_site(site_file, allow_outside)
        words = language_named(language)
        refuse_treeless(site, site_file)
        study = run_site(site, progress=progress)
        with results_in(folder, run) as aside:
            summary, names = write_trees(study, aside, progress, words)
    from cli.tree_report import print_trees

    end(
        summary,
        as_json=as_json,
        report=lambda: print_trees(study, names, folder),
        stopped=study.review.stopped,
    )
