"""Compiled loops: machine code made at the first call and, where a folder can be written, kept for the next run."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from numba import njit
from numba.core import event

_made_anew: list[str] = []


def compiled(function: Callable[..., Any]) -> Callable[..., Any]:
    """The function as machine code.

    What was compiled is kept beside the module, or in the user's own cache folder. In an installation that may only be
    read, with no home that may be written, it is made anew in each run (`made_anew`).
    """
    if _has_a_place(function):
        try:
            kept: Callable[..., Any] = njit(cache=True)(function)
            return kept
        except RuntimeError:  # no folder can be written
            pass
    _made_anew.append(function.__name__)
    made: Callable[..., Any] = njit(function)
    return made


def loops_ready() -> None:
    """Load what every compiled loop stands on, which the first one of a process waits for: a fork has it then too."""
    from numba.core.registry import cpu_target

    cpu_target.target_context.refresh()


def made_anew() -> bool:
    """Whether this run makes machine code that it cannot keep."""
    return bool(_made_anew)


@contextmanager
def compiling_told(tell: Callable[[bool], None]) -> Iterator[None]:
    """Call `tell(True)` when machine code begins to be made inside the block, and `tell(False)` when it is made.

    Nothing is told of what an earlier run kept.
    """
    base: Any = event.Listener

    class Told(base):  # type: ignore[misc]
        def on_start(self, _: object) -> None:
            tell(True)

        def on_end(self, _: object) -> None:
            tell(False)

    with event.install_listener("numba:compile", Told()):
        yield


def _has_a_place(function: Callable[..., Any]) -> bool:
    """Whether the compiler may look for a folder: a named one, the module's own, one under a home.

    For a user without a home it would take the folder "~" where the command runs, and run the machine code that
    somebody else has put there.
    """
    beside = Path(function.__code__.co_filename).parent
    named = "NUMBA_CACHE_DIR" in os.environ
    return named or os.access(beside, os.W_OK) or os.path.isabs(os.path.expanduser("~"))
