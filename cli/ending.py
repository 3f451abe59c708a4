"""How a command ends: the summary or the report on standard output, and the status."""

from __future__ import annotations

import sys
from collections.abc import Callable

import click

from cli.errors import DONE, LIMIT_BROKEN
from cli.loudness import is_quiet
from cli.speech import holds_any_letter, hush


def end(summary: dict[str, object], *, as_json: bool, report: Callable[[], None], stopped: bool) -> None:
    """Print the summary as JSON or the report, and leave with status 1 where a limit is broken, else 0.

    Raises `OutputError` where standard output cannot be written; a reader that went away changes nothing.
    """
    try:
        if as_json:
            _print_json(summary)
        elif not is_quiet():
            report()
        sys.stdout.flush()
    except BrokenPipeError:
        hush(sys.stdout)
    except OSError as error:
        from terrain.errors import OutputError

        hush(sys.stdout)
        raise OutputError(f"standard output cannot be written ({error.strerror}); the results are whole.") from error
    click.get_current_context().exit(LIMIT_BROKEN if stopped else DONE)


def _print_json(summary: dict[str, object]) -> None:
    """JSON that loses no letter: where the stream lacks some, they are written by their numbers."""
    from terrain.files import as_json

    click.echo(as_json(summary, plain=not holds_any_letter(sys.stdout)), nl=False)
