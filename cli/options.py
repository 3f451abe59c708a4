"""Every argument and option that more than one command takes, defined once."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TypeVar

import click

from terrain.errors import OutputError

Command = TypeVar("Command", bound=Callable[..., object])


def site_argument(command: Command, *, required: bool = True) -> Command:
    """The site file, and the files outside its folder that it may name: `site_file` and `allow_outside`."""
    asked = click.option(
        "--allow-outside",
        "allow_outside",
        metavar="PATH",
        multiple=True,
        type=click.Path(path_type=Path),
        help="A file or folder outside that of the site file, which it may name; again for more.",
    )
    named = click.argument("site_file", metavar="SITE.toml", type=click.Path(path_type=Path), required=required)
    return named(asked(command))


def optional_site_argument(command: Command) -> Command:
    """The same, where something else may stand in the site file's place."""
    return site_argument(command, required=False)


out_option = click.option(
    "--out",
    "out",
    metavar="DIR",
    type=click.Path(path_type=Path),
    default=None,
    help="Folder for the results (default: out/ beside the site file).",
)

json_option = click.option(
    "--json",
    "as_json",
    is_flag=True,
    help="Print the summary as JSON on standard output, and nothing else there.",
)

port_option = click.option("--port", type=click.IntRange(1024, 65535), help="Port of the page (default: any free one).")

browser_option = click.option(
    "--browser/--no-browser", default=True, help="Open the page in the browser, or only print its link."
)

language_option = click.option(
    "--language",
    "language",
    metavar="en|es|fr",
    default="en",
    help="Language: English, Spanish or French.",
)


def out_folder(site_file: Path, out: Path | None) -> Path:
    """Return the folder for the results: as asked for, or out/ beside the site file.

    Raises `OutputError` where that one leads out of the site's folder by a link: nobody at this terminal asked for it.
    """
    if out is not None:
        return out
    beside = site_file.parent / "out"
    if not beside.resolve().is_relative_to(site_file.parent.resolve()):
        raise OutputError(
            f"{beside}: leads out of the folder of the site file; nothing was changed. "
            f'Say that the results belong there: --out "{beside.resolve()}".'
        )
    return beside


def stage_option(default: str) -> Callable[[Command], Command]:
    """The grade that is written: as built, or once settled."""
    return click.option(
        "--stage",
        "stage",
        type=click.Choice(["day-one", "finished"]),
        default=default,
        show_default=True,
        help="The grade as built, before it settles, or once settled.",
    )
