"""The size of every benchmark."""

from __future__ import annotations

import pytest
from sizes import Size


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--small", action="store_true", help="benchmarks at a small size: does all of it still run?")


@pytest.fixture(scope="session")
def size(request: pytest.FixtureRequest) -> Size:
    """Full where pytest was not started on this folder, which then knows no such option."""
    return Size(bool(request.config.getoption("--small", default=False)))
