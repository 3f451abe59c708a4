"""What every test of the ground shares."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from terrain.numerics.threads import one_thread


@pytest.fixture(autouse=True, scope="session")
def _one_thread() -> Iterator[None]:
    """Hold the linear algebra to one thread, as the stage itself does, also where a test calls a kernel."""
    with one_thread():
        yield
