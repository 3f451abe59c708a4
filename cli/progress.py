"""What a person watching the terminal sees while a command works; a pipe or a file gets nothing."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager


@contextmanager
def progress_shown() -> Iterator[Callable[[str], None]]:
    """Give a function that takes the step that begins; the display is on standard error and wipes itself."""
    from rich.console import Console
    from rich.progress import Progress, SpinnerColumn, TextColumn, TimeElapsedColumn

    console = Console(stderr=True)
    if not console.is_terminal:  # a display that is only switched off ends with a blank line, before rich 15
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
        task = bar.add_task("starting", total=None)
        yield lambda step: bar.update(task, description=step)
