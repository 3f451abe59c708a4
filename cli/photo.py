"""`hummock photo`: the mound in a photograph that somebody took of the yard."""

from __future__ import annotations

from pathlib import Path

import click

from cli.ending import end
from cli.options import json_option, out_folder, out_option, site_argument
from cli.photo_asked import photo_options


@click.command(short_help="Draw the mound into a photograph of the yard.")
@site_argument
@photo_options(required=True)
@out_option
@json_option
def photo(
    site_file: Path,
    allow_outside: tuple[Path, ...],
    out: Path | None,
    as_json: bool,
    **given: object,
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
        from cli.photo_asked import photo_asked, placed_photo
        from cli.photo_files import summary_with_photo, write_photo
        from terrain.flow import run_site
        from terrain.site import read_site

        run = begin_run(folder, "photo", site_file)
        asked = photo_asked(given)
        assert asked is not None  # the options are required
        site = read_site(site_file, allow_outside)
        study = run_site(site, progress=progress)
        placed = placed_photo(asked, study, progress)
        progress("drawing the mound")
        summary = summary_with_photo(study, placed)
        with results_in(folder, run) as aside:
            names = write_photo(study, placed, summary, aside)
    from cli.photo_report import print_photo

    end(
        summary,
        as_json=as_json,
        report=lambda: print_photo(study, placed, names, folder),
        stopped=study.review.stopped,
    )
