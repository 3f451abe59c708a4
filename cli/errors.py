"""The one place where errors become words and exit statuses."""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence

import click

DONE, LIMIT_BROKEN, REFUSED, STOPPED = 0, 1, 2, 130


def guarded(command: click.Group, arguments: Sequence[str] | None) -> int:
    """Run a command and return its exit status.

    Errors that the library raises on purpose and wrong usage become one message on standard error and
    status 2. Any other exception passes through with its traceback: it is a fault of this program and must
    not be hidden.
    """
    typed = list(sys.argv[1:] if arguments is None else arguments)
    try:
        with command.make_context("hummock", typed) as context:
            command.invoke(context)
            sys.stdout.flush()
    except click.exceptions.Exit as leave:
        return leave.exit_code
    except click.exceptions.NoArgsIsHelpError as error:
        click.echo(error.format_message(), err=True)
        return REFUSED
    except click.ClickException as error:
        return _refuse(_usage_message(error))
    except (click.Abort, KeyboardInterrupt):
        return _refuse("stopped; nothing was written.", STOPPED)
    except BrokenPipeError:
        # The reader of our output went away (`| head`); the results are in their folder all the same. Without
        # this the interpreter would complain when it flushes at its end.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    except Exception as error:
        if not _on_purpose(error):
            raise
        return _refuse(str(error))
    return DONE


def _on_purpose(error: Exception) -> bool:
    """Tell whether the library raised this error; imported here so that the help page loads no numpy."""
    from terrain.errors import HummockError

    return isinstance(error, HummockError)


def _refuse(message: str, status: int = REFUSED) -> int:
    click.echo(f"hummock: {message}", err=True)
    return status


def _usage_message(error: click.ClickException) -> str:
    """One line for wrong usage: what is wrong and where the help is."""
    message = error.format_message()
    if not message.endswith((".", "?")):
        message += "."
    context = getattr(error, "ctx", None)
    if context is None:
        return message
    return f"{message} Help: {context.command_path} --help"
