"""`hummock suggest`: other forms inside the same outline, limits and soil, side by side and each as a site file."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import click

from cli.ending import end
from cli.options import json_option, out_folder, out_option, site_argument

if TYPE_CHECKING:
    from terrain.units import Units


@click.command(short_help="Suggest other forms inside the limits.")
@site_argument
@click.option("--soil", metavar="VOLUME", help="Soil that every form takes, loose, as if it were on hand.")
@click.option("--height", metavar="LENGTH", help="Height of every form, as far as the limits let it.")
@click.option("--hide", metavar="'NAME from VIEW'", multiple=True, help="Hide it: forms that hide more come first.")
@click.option("--see", metavar="'NAME from VIEW'", multiple=True, help="Keep it in sight, likewise.")
@out_option
@json_option
def suggest(
    site_file: Path,
    allow_outside: tuple[Path, ...],
    soil: str | None,
    height: str | None,
    hide: tuple[str, ...],
    see: tuple[str, ...],
    out: Path | None,
    as_json: bool,
) -> None:
    """Suggest three to seven other forms that keep every limit.

    Each stands inside the same outline. All take the soil on hand where the site file states it; else one takes the
    soil of the drawn form, and the others as much of it as they can and still be another form, each with how much and
    why.
    One can be mown (5:1), one stays clear of half of the root zone that the drawn form covers. The sheet suggest.pdf
    (and .png, .svg) shows them beside that form; suggest-1.toml and so on are site files that `hummock shape` runs as
    they are, comments kept.

    --hide "street from window" puts first what hides most of a named thing, walk or building from one of the site
    file's [[view_from]], offers a screen as well, and tells for each form how much it hides; --see the other way round,
    with a window through the mound.

    \b
    Examples:
      hummock suggest examples/alder-bend/site.toml
      hummock suggest examples/larkspur-rise/site.toml --height "40 cm"
      hummock shape examples/alder-bend/out/suggest-1.toml
    """
    from cli.progress import progress_shown

    folder = out_folder(site_file, out)
    with progress_shown() as progress:
        progress("reading the site file")
        from cli.folder import begin_run, results_in
        from cli.suggest_files import suggest_forms, summary_with_suggestions, write_suggestions
        from terrain.site import read_site
        from terrain.suggest import Wishes, sight_of
        from terrain.units import parse_length, parse_volume

        run = begin_run(folder, "suggest", site_file)
        site = read_site(site_file, allow_outside)
        if soil is not None:
            site = replace(site, berm=replace(site.berm, soil=_wished(parse_volume, soil, site.units, "--soil")))
        high = None if height is None else _wished(parse_length, height, site.units, "--height")
        wishes = Wishes(
            high,
            hide=tuple(sight_of(site, words, "--hide") for words in hide),
            see=tuple(sight_of(site, words, "--see") for words in see),
        )
        worked = suggest_forms(site, progress, wishes)
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


def _wished(read: Callable[[str, Units, str], float], written: str, units: Units, option: str) -> float:
    """A wish in metres or cubic metres; none of nothing or less."""
    from terrain.errors import InputError

    value = read(written, units, option)
    if value <= 0.0:
        raise InputError(option, f"{written} is no more than nothing.", "Accepted: more than 0.")
    return value
