"""The one place where errors become words and exit statuses."""

from __future__ import annotations

import logging
import os
import platform
import sys
import tempfile
import traceback
from collections.abc import Sequence
from contextlib import suppress

import click

from cli.signals import AskedToEnd, signals_end_cleanly
from cli.speech import any_name_prints, hush

DONE, LIMIT_BROKEN, REFUSED, FAULT, STOPPED = 0, 1, 2, 3, 130
_NOT_OURS = (SystemExit, GeneratorExit)


def guarded(command: click.Group, arguments: Sequence[str] | None) -> int:
    """Run a command and return its exit status.

    Errors that the library raises on purpose and wrong usage become one message on standard error and status 2. Any
    other exception is a fault of this program: one sentence that names a file with the traceback, and status 3.
    Control+C is 130; SIGTERM and SIGHUP are 128 and their number.
    """
    typed = list(sys.argv[1:] if arguments is None else arguments)
    logging.getLogger("matplotlib").setLevel(logging.ERROR)  # where it keeps its fonts is no news to a crew
    with any_name_prints(), signals_end_cleanly() as asked:
        try:
            status = _run(command, typed)
            if status in (DONE, LIMIT_BROKEN):
                _tell_made_anew()
            return status
        except (click.Abort, KeyboardInterrupt):
            return _refuse("stopped; nothing was left half written.", STOPPED)
        except _NOT_OURS:
            raise
        except BaseException as error:  # compiled libraries raise things that are no Exception
            return _failed(error, typed, asked)


def _failed(error: BaseException, typed: list[str], asked: Sequence[AskedToEnd]) -> int:
    """The status of what went wrong, told in one message: somebody asked the command to end, bad input, our fault."""
    if asked:  # a compiler that is interrupted makes an error of its own of it
        return _refuse(f"ended by {asked[0].name}; nothing was left half written.", asked[0].status)
    return _refuse(str(error)) if _on_purpose(error) else _refuse(_fault(error, typed), FAULT)


def _run(command: click.Group, typed: list[str]) -> int:
    """Run the command; usage errors and early ends become words here."""
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
    except BrokenPipeError:
        hush(sys.stdout)
    return DONE


def _tell_made_anew() -> None:
    """Say where a run takes longer than it need; looked up, so that no command loads a compiler for it."""
    compiled = sys.modules.get("terrain.numerics.machine_code")
    if compiled is not None and compiled.made_anew():
        _refuse(
            "no folder could be written to keep compiled code in, so that each run compiles anew and takes longer. "
            "NUMBA_CACHE_DIR can name one."
        )


def _on_purpose(error: BaseException) -> bool:
    """Tell whether the library raised this error; imported here so that the help page loads no numpy."""
    from terrain.errors import HummockError

    return isinstance(error, HummockError)


def _refuse(message: str, status: int = REFUSED) -> int:
    with suppress(OSError):  # nobody is there to be told: the status tells it still
        click.echo(f"hummock: {message}", err=True)
    return status


def _fault(error: BaseException, typed: list[str]) -> str:
    """The sentence about a fault of ours; its traceback goes into a file that only this user can read."""
    kind = f"a fault of this program ({type(error).__name__}) ended the run and nothing was left half written;"
    told = f"hummock {' '.join(typed)}\nPython {platform.python_version()}, {platform.platform()}\n\n"
    told += "".join(traceback.format_exception(error))
    try:
        handle, path = tempfile.mkstemp(prefix="hummock-fault-", suffix=".txt")  # 0600, and no name that one can guess
        with os.fdopen(handle, "w", encoding="utf-8", errors="backslashreplace") as file:
            file.write(told)
    except OSError:
        return f"{kind} what happened could not be kept in a file and follows.\n{told}"
    return f"{kind} please report it with the file {path}, which says what happened."


def _usage_message(error: click.ClickException) -> str:
    """One line for wrong usage: what is wrong and where the help is."""
    message = error.format_message()
    if not message.endswith((".", "?")):
        message += "."
    context = getattr(error, "ctx", None)
    if context is None:
        return message
    return f"{message} Help: {context.command_path} --help"
