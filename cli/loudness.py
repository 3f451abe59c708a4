"""How much a command says: its result; with --quiet refusals, links and questions alone; with --verbose each step."""

from __future__ import annotations

import click

_SAID = "hummock.loudness"


def with_loudness(command: click.Command) -> None:
    """Give a command the options --quiet and --verbose, once."""
    if not any(param.name == "quiet" for param in command.params):
        command.params += [
            _flag("-q", "--quiet", "Print no result: refusals, links and questions alone."),
            _flag("-v", "--verbose", "Tell each step on standard error as it begins, in a pipe too."),
        ]


def _flag(short: str, long: str, words: str) -> click.Option:
    return click.Option([short, long], is_flag=True, expose_value=False, callback=_kept, help=words)


def _kept(context: click.Context, option: click.Parameter, asked: bool) -> None:
    """Keep what was asked for, for `is_quiet` and `is_verbose`; both at once contradict each other."""
    if asked and context.meta.setdefault(_SAID, option.name) != option.name:
        raise click.UsageError("--quiet and --verbose contradict each other. Accepted: one of them.", context)


def is_quiet() -> bool:
    """Whether the command that runs was asked to say nothing of what went well."""
    return _said("quiet")


def is_verbose() -> bool:
    """Whether the command that runs was asked to tell each step."""
    return _said("verbose")


def _said(name: str) -> bool:
    context = click.get_current_context(silent=True)
    return context is not None and context.meta.get(_SAID) == name


def say(text: str) -> None:
    """Print a line of the result on standard output, unless the command was asked to be quiet."""
    if not is_quiet():
        click.echo(text)
