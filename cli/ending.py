"""How a command ends: the summary or the report on standard output, and the status."""

from __future__ import annotations

from collections.abc import Callable

import click

from cli.errors import DONE, LIMIT_BROKEN


def end(summary: dict[str, object], *, as_json: bool, report: Callable[[], None], stopped: bool) -> None:
    """Print the summary as JSON or the report, and leave with status 1 where a limit is broken, else 0."""
    if as_json:
        from cli import outputs

        click.echo(outputs.as_json(summary), nl=False)
    else:
        report()
    click.get_current_context().exit(LIMIT_BROKEN if stopped else DONE)
