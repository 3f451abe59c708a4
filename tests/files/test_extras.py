"""The advice to install an extra works where it is read: it names the clone that the tool runs or came from."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from terrain.extras import advice_for, how_to_install, is_there


def test_a_clone_is_told_its_own_command(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "pyproject.toml").touch()
    monkeypatch.setattr(sys, "prefix", str(tmp_path / ".venv"))
    told = advice_for("exchange", tmp_path, None)
    assert told.startswith(f"Install it in {tmp_path}: .venv/")
    assert told.endswith('pip install -e ".[exchange]"')


def test_what_came_from_a_clone_goes_back_to_it(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "clone").mkdir()
    (tmp_path / "clone/pyproject.toml").touch()
    monkeypatch.setattr(sys, "prefix", str(tmp_path / "venv"))
    told = advice_for("live", tmp_path / "venv/lib", tmp_path / "clone")
    assert told == f'Install it in {tmp_path / "clone"}: "{sys.executable}" -m pip install ".[live]"'


@pytest.mark.parametrize("source", [None, Path("/gone")])
def test_what_came_from_an_index_comes_from_there(tmp_path: Path, source: Path | None) -> None:
    assert advice_for("live", tmp_path, source) == 'Install it: pip install "hummock[live]"'


def test_this_checkout_is_a_clone(root: Path) -> None:
    assert str(root) in how_to_install("exchange")
    assert is_there("shapely.geometry")
    assert not is_there("no_such_library")
