"""One thread for many small matrix jobs."""

from __future__ import annotations

from contextlib import AbstractContextManager
from functools import cache
from typing import Any


def one_thread() -> AbstractContextManager[object]:
    """Hold the linear algebra to one thread inside a `with` block.

    A yard's matrices are small: handing each to several threads costs more than it saves, on a busy machine a
    hundred times more (measured: 0.3 s of work took 11 s).
    """
    limits: AbstractContextManager[object] = _libraries().limit(limits=1, user_api="blas")
    return limits


@cache
def _libraries() -> Any:
    """The libraries of this process that have threads; looking for them takes milliseconds, so only once.

    scipy brings its own copy of the linear algebra, which must be loaded before it can be found.
    """
    import scipy.linalg  # noqa: F401
    from threadpoolctl import ThreadpoolController

    return ThreadpoolController()
