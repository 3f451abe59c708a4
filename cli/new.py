"""`hummock new`: a commented site folder to start from."""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path
from typing import Literal

import click

from cli.loudness import say
from cli.options import browser_option, port_option

# The starter's figures are whole numbers in either unit, so each unit has its own set of files.
STARTERS = {"ft": "feet", "m": "metres"}


@click.command(short_help="Write a commented site folder to start from.")
@click.argument("folder", metavar="DIR", type=click.Path(path_type=Path), required=False)
@click.option("--units", type=click.Choice(list(STARTERS)), default="ft", show_default=True, help="Unit of the files.")
@click.option(
    "--ask", is_flag=True, help="Ask twelve questions about your yard, write its folder and work out the order."
)
@click.option("--page", is_flag=True, help="Trace and type your yard on a page, which saves its folder.")
@port_option
@browser_option
@click.option(
    "--sheet",
    "sheet",
    metavar="FILE.xlsx",
    type=click.Path(path_type=Path),
    help="Write a workbook to fill in, which every command takes, and the same form to print.",
)
def new(
    folder: Path | None,
    units: Literal["ft", "m"],
    ask: bool,
    page: bool,
    port: int | None,
    browser: bool,
    sheet: Path | None,
) -> None:
    """Write a commented site folder to start from.

    The folder holds an invented yard (site.toml, shots.csv, bed.csv) that runs as it is. Replace its figures by
    your own, then run `hummock shape DIR/site.toml`.

    With --ask it asks about your own yard instead, on the terminal or from a pipe, a line an answer; an empty line is
    "don't know". What it then writes is your yard, and the order follows with its range.

    With --page it asks the same on a page in the browser: the bed is traced over a picture or typed, shots are tapped
    and their readings typed, and contours, order and the place of the next shot follow each of them.

    With --sheet it writes a workbook of four tabs (Yard, Shots, Bed, Trees) in place of a folder, and the empty form
    as a PDF to print; every command takes the workbook where it takes a site file.

    \b
    Examples:
      hummock new my-yard
      hummock new my-yard --page
      hummock new --sheet yard.xlsx
    """
    _check_ways(ask, page, (folder, sheet), port)
    if folder is not None and page:
        from viewer.web import need_extra

        need_extra("--page")
        from cli.new_page import serve_new_yard

        serve_new_yard(folder, units, port, browser)
        return
    starter = {item.name: item.read_bytes() for item in (files("cli") / "starter" / STARTERS[units]).iterdir()}
    if sheet is not None:
        from cli.new_sheet import write_sheet

        write_sheet(sheet, starter, units)
    elif folder is not None:
        _write_folder(folder, starter, units if ask else None)


def _check_ways(ask: bool, page: bool, places: tuple[Path | None, Path | None], port: int | None) -> None:
    """Refuse what does not go together; `places` are the folder and the workbook."""
    folder, sheet = places
    told = ""
    if (folder is None) == (sheet is None):
        told = "Give a folder, or --sheet FILE.xlsx."
    elif ask + page + (sheet is not None) > 1:
        told = "--ask, --page and --sheet do not go together."
    elif port is not None and not page:
        told = "--port goes with --page."
    if told:
        raise click.UsageError(told, click.get_current_context())


def _write_folder(folder: Path, starter: dict[str, bytes], asked: Literal["ft", "m"] | None) -> None:
    """The starter, or what answers make of it where somebody is `asked`, in these units where they do not say."""
    from cli.folder import refuse_unusable
    from cli.new_files import refuse_to_overwrite, write_yard

    if asked is not None:
        from cli.asking import ask_for_yard

        refuse_unusable(folder)
        refuse_to_overwrite(folder, ["site.toml", "shots.csv", "bed.csv"])
        ask_for_yard(folder, asked)
        return
    refuse_unusable(folder)
    refuse_to_overwrite(folder, sorted(starter))
    write_yard(folder, starter)
    say(f"Next: put your own figures in, then: hummock shape {folder / 'site.toml'}")
