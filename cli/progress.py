"""What a person watching the terminal sees while a command works; a pipe or a file gets nothing but by --verbose."""

from __future__ import annotations

import os
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager

import click

from cli.loudness import is_quiet, is_verbose

_START = "starting"
_COMPILING = ": compiling, for this first run alone"  # ten seconds and more in all, kept for every run after it


@contextmanager
def progress_shown() -> Iterator[Callable[[str], None]]:
    """Give a function that takes the step that begins; the display is on standard error and wipes itself."""
    if is_verbose():
        yield _told_line_by_line()
        return
    from rich.console import Console
    from rich.progress import Progress, SpinnerColumn, TextColumn, TimeElapsedColumn

    # Whoever wants no colour gets a display where there is a screen for it, and none for FORCE_COLOR alone.
    console = Console(stderr=True, force_terminal=sys.stderr.isatty() if os.environ.get("NO_COLOR") else None)
    if is_quiet() or not console.is_terminal:  # one that is only switched off ends with a blank line, before rich 15
        yield lambda step: None
        return
    bar = Progress(
        SpinnerColumn(),
        TextColumn("{task.description}", markup=False),
        TimeElapsedColumn(),
        console=console,
        transient=True,
    )
    with bar:
        task = bar.add_task(_START, total=None)
        from terrain.numerics import compiling_told

        steps = [_START]

        def began(step: str) -> None:
            steps[0] = step
            bar.update(task, description=step)

        here = os.getpid()

        def compiling(begun: bool) -> None:
            if os.getpid() != here:  # in a fork, where nobody frees a lock that was held while it was made
                return
            bar.update(task, description=steps[0] + _COMPILING if begun else steps[0], refresh=begun)

        with compiling_told(compiling):
            yield began


def _told_line_by_line() -> Callable[[str], None]:
    """Say each step on a line of standard error, with the seconds that passed since the command began."""
    started = time.monotonic()

    def began(step: str) -> None:
        click.echo(f"{time.monotonic() - started:7.1f} s  {step}", err=True)

    return began
