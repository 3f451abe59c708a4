"""`hummock view`: the mound in 3D, as a picture, a window, one file to send, or a local page to shape it on."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Literal, NamedTuple

import click

from cli.ending import end
from cli.errors import DONE
from cli.loudness import is_quiet
from cli.options import browser_option, json_option, out_folder, out_option, port_option, site_argument
from cli.photo_asked import PhotoAsked, photo_options

if TYPE_CHECKING:
    from terrain.flow import Study
    from terrain.site import Site


@click.command(short_help="See the mound in 3D, send it, or shape it live.")
@site_argument
@out_option
@json_option
@click.option("--before", "state", flag_value="before", help="The ground as it is.")
@click.option("--after", "state", flag_value="after", default="after", help="The ground as built (the default).")
@click.option(
    "--scale",
    type=click.FloatRange(0.5, 10.0),
    default=1.0,
    show_default=True,
    help="How many times heights are drawn.",
)
@click.option("--tint", is_flag=True, help="Colour what is filled or dug by its depth, with a key.")
@click.option(
    "--planting",
    type=click.Choice(["first", "fifth"]),
    help="Plain plants as in their first or fifth season, not designed here.",
)
@click.option("--window/--no-window", default=None, help="Open a window, or only write the picture.")
@click.option("--share", metavar="FILE", type=click.Path(path_type=Path), help="Write one page to send.")
@click.option("--live", is_flag=True, help="Shape the berm on a page of this machine.")
@photo_options(required=False)
@port_option
@browser_option
def view(
    site_file: Path,
    allow_outside: tuple[Path, ...],
    out: Path | None,
    as_json: bool,
    state: str,
    scale: float,
    tint: bool,
    planting: Literal["first", "fifth"] | None,
    window: bool | None,
    share: Path | None,
    live: bool,
    port: int | None,
    browser: bool,
    **given: object,
) -> None:
    """See the mound in 3D: a window where there is a screen, and a picture.

    Writes view3d.png into the output folder. With --share it writes one page instead, which opens from a mail on a
    phone with no server and no network. With --live it serves a page on this machine alone, where the berm is shaped
    by hand and saved to the site file. A photograph of the yard (--picture, --marks) goes with either: the page to send
    shows the mound in it, and on the live page its marks are set by touch and the mound follows as it is shaped.

    \b
    Examples:
      hummock view my-yard/site.toml --before --scale 2
      hummock view my-yard/site.toml --tint
      hummock view my-yard/site.toml --planting fifth
      hummock view my-yard/site.toml --share berm.html
      hummock view my-yard/site.toml --share berm.html --picture yard.jpg --marks marks.csv
      hummock view my-yard/site.toml --live
    """
    if live and (share is not None or as_json):
        raise click.UsageError("--live goes with neither --share nor --json.", click.get_current_context())
    from cli.photo_asked import photo_asked

    opened, pictured = SiteFile(site_file, allow_outside), photo_asked(given)
    if pictured is not None and share is None and not live:
        raise click.UsageError("--picture goes with --share or --live.", click.get_current_context())
    folder = out_folder(site_file, out)
    if live:
        _serve(opened, folder, port, browser, pictured)
    elif share is not None:
        _tell(*_shared(opened, share, pictured), as_json)
    else:
        _tell(*_pictured(opened, folder, Looks(state == "after", scale, tint, planting), window), as_json)


class SiteFile(NamedTuple):
    """A site file and what it may name outside its folder."""

    path: Path
    outside: tuple[Path, ...]


class Looks(NamedTuple):
    """What is drawn: the ground as built or as it is, how many times its heights, whether by depth, and its plants."""

    after: bool
    scale: float
    tint: bool
    season: Literal["first", "fifth"] | None


def _pictured(site_file: SiteFile, folder: Path, looks: Looks, window: bool | None) -> tuple[Study, Sequence[str]]:
    """Write the picture, and open a window where one is wanted and can be had."""
    from cli.progress import progress_shown

    with progress_shown() as progress:
        from cli.folder import begin_run, results_in

        run = begin_run(folder, "view", site_file.path)
        study = _study(site_file, progress)
        from viewer.pictures import draw_picture, show_window

        progress("drawing the picture")
        with results_in(folder, run) as aside:
            drawn = draw_picture(
                study, aside, after=looks.after, scale=looks.scale, tinted=looks.tint, season=looks.season
            )
        words = [f"Wrote {folder / drawn.name}."]
    if window is not False:
        trouble = show_window(study, after=looks.after, scale=looks.scale)
        words += [trouble] if trouble else []
    return study, words


def _shared(site_file: SiteFile, path: Path, pictured: PhotoAsked | None) -> tuple[Study, Sequence[str]]:
    """Work the yard through and write the page to send."""
    from cli.progress import progress_shown

    with progress_shown() as progress:
        from cli.photo_asked import placed_photo
        from terrain.files import refuse_held

        refuse_held(path.parent, [path.name])
        study = _study(site_file, progress)
        from viewer.web import write_share

        photo = None if pictured is None else placed_photo(pictured, study, progress)
        progress("writing the page")
        write_share(study, path, photo)
    return study, [f"Wrote {path} ({path.stat().st_size / 1e6:.2f} MB): one page that needs no network."]


def _study(site_file: SiteFile, progress: Callable[[str], None]) -> Study:
    progress("reading the site file")
    from terrain.flow import run_site
    from terrain.site import read_site

    return run_site(read_site(*site_file), progress=progress)


def _serve(site_file: SiteFile, folder: Path, port: int | None, browser: bool, pictured: PhotoAsked | None) -> None:
    """Serve the live page until the command is stopped."""
    from viewer.web import need_extra

    need_extra()
    from cli.folder import refuse_unusable
    from cli.photo_asked import photo_desk
    from cli.progress import progress_shown
    from cli.serving import serve_room
    from viewer.web import LiveRoom, Session, draft_held

    refuse_unusable(folder)
    with draft_held(site_file.path):
        with progress_shown() as progress:
            path = site_file.path
            photo = None if pictured is None else photo_desk(pictured, progress)
            session = Session(path, lambda site: _written_plan(site, path, folder), progress, site_file.outside, photo)
        serve_room(LiveRoom(session), port, browser)
    click.get_current_context().exit(DONE)


def _written_plan(site: Site, site_file: Path, folder: Path) -> Sequence[str]:
    """Everything that `hummock shape` writes, for a site as it is on the page."""
    from cli import outputs
    from cli.folder import begin_run, results_in
    from terrain.flow import quietly, run_site
    from viewer.web import draft_path

    # The page may hold what the site file does not: no run on the file itself has the same inputs.
    run = begin_run(folder, "view --live", site_file, draft_path(site_file))
    study = run_site(site)
    with results_in(folder, run) as aside:
        return outputs.write_outputs(study, aside, quietly).names


def _tell(study: Study, words: Sequence[str], as_json: bool) -> None:
    """Say what was made, or print the summary, and leave with the status of the findings."""
    from terrain.files import summary_of
    from terrain.soil import round_offset

    for line in words if as_json and not is_quiet() else ():
        click.echo(line, err=True)
    offset = round_offset(study.proposal.mesh, study.site.bed.sod)
    end(
        summary_of(study, offset),
        as_json=as_json,
        report=lambda: click.echo("\n".join(words)),
        stopped=study.review.stopped,
    )
