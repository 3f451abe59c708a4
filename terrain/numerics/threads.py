"""One thread for many small matrix jobs."""

from __future__ import annotations

from contextlib import AbstractContextManager


def one_thread() -> AbstractContextManager[object]:
    """Hold the linear algebra to one thread inside a `with` block.

    The ground's matrices are small: handing each to several threads costs more than it saves, on a busy machine a
    hundred times more (measured: 0.3 s of work took 11 s). scipy brings its own copy of the library, which must
    be loaded before it can be held.
    """
    import scipy.linalg  # noqa: F401
    from threadpoolctl import threadpool_limits

    limits: AbstractContextManager[object] = threadpool_limits(limits=1, user_api="blas")
    return limits
