"""Every example in a docstring gives what stands under it."""

from __future__ import annotations

import doctest
from importlib import import_module
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
WITH_EXAMPLES = [
    ".".join(path.relative_to(ROOT).with_suffix("").parts)
    for folder in ("terrain", "viewer", "cli")
    for path in sorted((ROOT / folder).rglob("*.py"))
    if ">>> " in path.read_text(encoding="utf-8")
]
SLOW = {"terrain.flow"}  # works a yard


@pytest.mark.parametrize(
    "name", [pytest.param(name, marks=pytest.mark.slow) if name in SLOW else name for name in WITH_EXAMPLES]
)
def test_the_examples_of_a_docstring_hold(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)
    failed, tried = doctest.testmod(import_module(name))
    assert tried > 0
    assert not failed


def test_examples_are_found() -> None:
    assert {"terrain.grid", "terrain.units", "terrain.flow"} <= set(WITH_EXAMPLES)
