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
@click.option(
    "--ask", is_flag=True, help="Ask twelve questions about your yard, write its folder and work out the order."
)
def new(folder: Path, units: str, ask: bool) -> None:
    """Write a commented site folder to start from.

    The folder holds an invented yard (site.toml, shots.csv, bed.csv) that runs as it is. Replace its figures by
    your own, then run `hummock shape DIR/site.toml`.

    With --ask it asks about your own yard instead, on the terminal or from a pipe, a line an answer; an empty line is
    "don't know". What it then writes is your yard, and the order follows with its range.
    """
    from cli.folder import refuse_unusable
    from cli.new_files import refuse_to_overwrite, write_yard

    if ask:
        from cli.asking import ask_for_yard

        refuse_unusable(folder)
        refuse_to_overwrite(folder, ["site.toml", "shots.csv", "bed.csv"])
        ask_for_yard(folder)
        return
    starter = files("cli") / "starter" / STARTERS[units]
    sheets = {item.name: item.read_bytes() for item in starter.iterdir()}
    refuse_unusable(folder)
    refuse_to_overwrite(folder, sorted(sheets))
    write_yard(folder, sheets)
    click.echo(f"Next: put your own figures in, then: hummock shape {folder / 'site.toml'}")
