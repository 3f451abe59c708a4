"""The `hummock` command: a group whose subcommands are imported only when they are asked for."""

from __future__ import annotations

import difflib
import gc
import importlib
import os
import sys
from collections.abc import Sequence

import click

from cli.errors import guarded
from cli.loudness import with_loudness

# Each command and the module whose function of that name runs it, in the order of the help page.
COMMANDS = {
    "new": "cli.new",
    "ground": "cli.ground",
    "shape": "cli.shape",
    "order": "cli.order",
    "trees": "cli.trees",
    "suggest": "cli.suggest",
    "setout": "cli.setout",
    "crew": "cli.crew",
    "field": "cli.field",
    "asbuilt": "cli.asbuilt",
    "export": "cli.export",
    "view": "cli.view",
    "stream": "cli.stream",
    "photo": "cli.photo",
}

# Objects made before circles of them are looked for. Nearly all that a command makes lives until it ends, and going
# through it every 700 took a tenth of its time.
_MADE_BETWEEN_SWEEPS = 200_000

COMPLETING = "_HUMMOCK_COMPLETE"  # set by a shell that asks how a line could go on, to "bash_complete" and the like

EXIT_STATUS = (
    "\b\nExit status: 0 done; 1 done, and a finding says stop; 2 refused, with one message;\n"
    "3 a fault of this program; 129, 130, 143 stopped from outside."
)


class LazyGroup(click.Group):
    """A group that imports a subcommand's module only when it is needed, so that the start stays quick."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Return the names in the order of the help page."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Import and return the named command, or None for a name that does not exist."""
        if cmd_name not in COMMANDS:
            return None
        command = getattr(importlib.import_module(COMMANDS[cmd_name]), cmd_name)
        assert isinstance(command, click.Command)
        command.epilog = EXIT_STATUS
        with_loudness(command)
        return command

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """Find the command that was typed; refuse an unknown one with the nearest name."""
        typed = args[0]
        if typed not in COMMANDS and not typed.startswith("-"):
            near = difflib.get_close_matches(typed, COMMANDS, n=1, cutoff=0.5)
            hint = f"Did you mean {near[0]}?" if near else f"Commands: {', '.join(COMMANDS)}."
            raise click.UsageError(f'there is no command "{typed}". {hint}', ctx)
        return super().resolve_command(ctx, args)


@click.group(cls=LazyGroup, context_settings={"help_option_names": ["-h", "--help"]}, epilog=EXIT_STATUS)
@click.version_option(package_name="hummock")
def hummock() -> None:
    """Shape planted mounds of soil beside mature trees, before any soil arrives.

    \b
    Start here:
      hummock new my-yard
      hummock shape my-yard/site.toml
    """


def main(arguments: Sequence[str] | None = None) -> None:
    """Run the command line and end the process: status 0 done, 1 a limit is broken, 2 refused, 3 a fault of ours."""
    # Read when the linear algebra is first loaded, which no command has done yet: two threads that wait for each other
    # made a command on a busy machine ten times as slow.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    gc.set_threshold(_MADE_BETWEEN_SWEEPS)
    asked = os.environ.get(COMPLETING)
    if asked:
        from click.shell_completion import shell_complete

        sys.exit(shell_complete(hummock, {}, "hummock", COMPLETING, asked))
    sys.exit(guarded(hummock, arguments))


if __name__ == "__main__":
    main()
