"""`hummock new`: a commented site folder to start from."""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path

import click

# The starter's figures are whole numbers in either unit, so each unit has its own set of files.
STARTERS = {"ft": "feet", "m": "metres"}


@click.command(short_help="Write a commented site folder to start from.")
@click.argument("folder", metavar="DIR", type=click.Path(path_type=Path))
@click.option("--units", type=click.Choice(list(STARTERS)), default="ft", show_default=True, help="Unit of the files.")
def new(folder: Path, units: str) -> None:
    """Write a commented site folder to start from.

    The folder holds an invented yard (site.toml, shots.csv, bed.csv) that runs as it is. Replace its figures by
    your own, then run `hummock shape DIR/site.toml`.
    """
    from cli.folder import refuse_unusable, results_in

    starter = files("cli") / "starter" / STARTERS[units]
    sheets = {item.name: item.read_bytes() for item in starter.iterdir()}
    refuse_unusable(folder)
    refuse_to_overwrite(folder, sorted(sheets))
    with results_in(folder) as aside:
        for name, text in sheets.items():
            (aside / name).write_bytes(text)
    click.echo(f"Wrote {', '.join(sorted(sheets, reverse=True))} in {folder}.")
    click.echo(f"Next: put your own figures in, then: hummock shape {folder / 'site.toml'}")


def refuse_to_overwrite(folder: Path, names: list[str]) -> None:
    """Raise OutputError where any of the files is there already: a person's figures are never overwritten."""
    from terrain.errors import OutputError

    there = [name for name in names if (folder / name).exists()]
    if there:
        raise OutputError(f"{folder}: {', '.join(there)} already there, nothing was written. Give a new folder's name.")
