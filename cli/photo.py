"""`hummock photo`: the mound in a photograph that somebody took of the yard."""

from __future__ import annotations

from pathlib import Path

import click

from cli.ending import end
from cli.options import json_option, out_folder, out_option, site_argument

_FILE = click.Path(path_type=Path)


@click.command(short_help="Draw the mound into a photograph of the yard.")
@site_argument
@click.option("--picture", metavar="FILE", type=_FILE, required=True, help="The photograph: JPEG or PNG, not cut.")
@click.option("--marks", metavar="FILE", type=_FILE, required=True, help="Table of points seen in it: point,u,v,up.")
@click.option("--mask", metavar="FILE", type=_FILE, help="Picture as large, white where the photograph stays in front.")
@click.option(
    "--lens",
    metavar="MM",
    type=click.FloatRange(5.0, 1000.0),
    help="Focal length in mm of 35 mm film, where the file has none.",
)
@click.option("--sun", metavar="'BEARING HEIGHT'", help="The sun, degrees from north and over the horizon.")
@click.option("--when", metavar="TIME", help="When it was taken, with its zone: 2026-06-21T15:00-05:00; with --place.")
@click.option("--place", metavar="'LAT LON'", help="Where on earth, degrees north and east; with --when.")
@out_option
@json_option
def photo(
    site_file: Path,
    allow_outside: tuple[Path, ...],
    picture: Path,
    marks: Path,
    mask: Path | None,
    lens: float | None,
    sun: str | None,
    when: str | None,
    place: str | None,
    out: Path | None,
    as_json: bool,
) -> None:
    """Draw the mound into a photograph of the yard, as it will stand there.

    The marks name points of the survey (shots, corners such as "house SW", trees, known points) and the pixel at which
    each is seen, counted from the top left; `up` is a height over the point, for the bands of a staff or an eave. Four
    find the camera, six and more check it: near and far, spread over the picture.

    Writes photo.png (after), photo_before_after.png and photo.json. Nothing that the photograph's file tells of its
    place is kept.

    \b
    Examples:
      hummock photo my-yard/site.toml --picture window.jpg --marks marks.csv
      hummock photo my-yard/site.toml --picture window.jpg --marks marks.csv --sun "225 40"
    """
    from cli.progress import progress_shown

    folder = out_folder(site_file, out)
    with progress_shown() as progress:
        progress("reading the site file")
        from cli.folder import begin_run, results_in
        from cli.photo_files import light_of, summary_with_photo, write_photo
        from terrain.flow import run_site
        from terrain.photograph import fit_photo, read_marks
        from terrain.site import read_site
        from terrain.survey import read_photograph
        from viewer.pictures import mask_of

        run = begin_run(folder, "photo", site_file)
        light = light_of(sun, when, place)
        site = read_site(site_file, allow_outside)
        progress("reading the photograph")
        photograph = read_photograph(picture, str(picture))
        kept = None if mask is None else mask_of(mask, photograph)
        study = run_site(site, progress=progress)
        progress("finding the camera")
        named = read_marks(marks, str(marks), site, study.ground)
        film = photograph.film if lens is None else lens
        fit = fit_photo(site, study.ground, study.proposal, named, photograph.size, film, str(marks))
        progress("drawing the mound")
        summary = summary_with_photo(study, fit, photograph)
        with results_in(folder, run) as aside:
            names = write_photo(study, fit, photograph, kept, light, summary, aside)
    from cli.photo_report import print_photo

    end(
        summary,
        as_json=as_json,
        report=lambda: print_photo(study, fit, photograph, light, names, folder),
        stopped=study.review.stopped,
    )
