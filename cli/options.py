"""Every argument and option that more than one command takes, defined once."""

from __future__ import annotations

from pathlib import Path

import click

site_argument = click.argument("site_file", metavar="SITE.toml", type=click.Path(path_type=Path))

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


def out_folder(site_file: Path, out: Path | None) -> Path:
    """Return the folder for the results: as asked for, or out/ beside the site file."""
    return site_file.parent / "out" if out is None else out
