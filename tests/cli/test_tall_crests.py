"""Crest heights far over what the limits allow: every command says so and none breaks."""

from __future__ import annotations

import re
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest


@pytest.mark.slow
@pytest.mark.parametrize("command", ["order", "setout", "suggest"])
def test_a_mound_held_far_under_its_wish_goes_through(
    command: str, root: Path, hummock: Callable, tmp_path: Path
) -> None:
    folder = tmp_path / "tall"
    shutil.copytree(root / "examples/alder-bend", folder)
    site = folder / "site.toml"
    heights = iter(("60 in", "72 in", "60 in"))
    text = site.read_text()
    line = re.search(r"(?m)^crest .*$", text)
    assert line is not None
    tall = re.sub(r'"\d+ in"', lambda _: f'"{next(heights)}"', line[0])
    assert tall.count("60 in") == 2
    site.write_text(text.replace(line[0], tall))
    ended = hummock(command, site, "--out", tmp_path / "out")
    assert ended.returncode == 0, ended.stderr
    assert "Warning" not in ended.stderr
    assert "nan" not in ended.stdout.split()
