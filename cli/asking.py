"""`hummock new --ask`: the questions on the terminal, line by line, and the order that follows from the answers."""

from __future__ import annotations

import io
import shutil
import sys
import textwrap
from pathlib import Path
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from terrain.interview import Answers
    from terrain.units import Units

START = (
    'An empty line is "don\'t know": what is then taken stands in brackets. Control+C ends, and nothing is written. '
    "Lengths are typed as on the tape: 31.5, 2 ft 4 1/2 in, 0.45 m."
)
COMPASS = "In all that follows east is along the bed, north is out from it."


def ask_for_yard(folder: Path, units: Units) -> None:
    """Ask on standard output, read standard input, write the folder whole, and go on to the order.

    Nothing is written before the last answer. Raises `InputError` where the input ends before it.
    """
    from cli.new_files import write_yard
    from cli.order import order
    from terrain.interview import files_of

    answers = answered(units)
    write_yard(folder, {name: text.encode() for name, text in files_of(answers).items()})
    click.echo(f"{COMPASS}\n")
    click.get_current_context().invoke(order, site_file=folder / "site.toml")


def answered(units: Units) -> Answers:
    """Every answer, a line each; what cannot be read is asked again with what would be accepted."""
    from terrain.errors import InputError
    from terrain.interview import heard, prompt, talk_begun

    if isinstance(sys.stdin, io.TextIOWrapper):
        sys.stdin.reconfigure(errors="replace")  # a letter in another code page is no reason to stop
    talk = talk_begun(units)
    _say(START)
    while not talk.done:
        *asked, last = prompt(talk).split("\n")
        _say(*asked)
        click.echo(last, nl=False)
        line = sys.stdin.readline()
        if not line:
            click.echo()
            where, problem = f"question {talk.number}", "the input ended here; nothing was written."
            raise InputError(where, problem, "Accepted: an answer, or an empty line for each that nobody knows.")
        talk, told = heard(talk, line)
        _say(f"   -> {told}", indent="      ")
    return talk.answers


def _say(*texts: str, indent: str = "   ") -> None:
    """Texts as wide as the terminal is, the first line of each at the edge."""
    width = max(shutil.get_terminal_size().columns, 20)
    for text in texts:
        click.echo(textwrap.fill(text, width, subsequent_indent=indent, break_on_hyphens=False))
