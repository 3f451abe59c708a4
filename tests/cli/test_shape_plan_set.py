"""`hummock shape` with a plan set, a contour interval and a paper asked for."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import pytest

SITE = "examples/alder-bend/site.toml"


@pytest.mark.slow
def test_the_plan_set_is_written_beside_the_drawings(root: Path, hummock: Callable, tmp_path: Path) -> None:
    out = tmp_path / "out"
    words = ("--plan-set", "--contours", "3 in", "--paper", "tabloid")
    ended = hummock("shape", root / SITE, "--out", out, *words)
    assert ended.returncode == 0, ended.stderr
    assert "plan-set" in ended.stdout
    sizes = re.findall(rb"/MediaBox \[ ?0 0 ([\d.]+) ([\d.]+) ?\]", (out / "plan.pdf").read_bytes())
    assert [sorted(float(side) for side in size) for size in sizes] == [[792.0, 1224.0]]
    # Plan, sections, cut and fill, the order beside the tree, cautions beside checks, set-out, its list.
    assert len(re.findall(rb"/Type /Page\b", (out / "plan-set.pdf").read_bytes())) == 7


@pytest.mark.slow
@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--paper", "poster"), "is not a paper"),
        (("--contours", "wide"), "is not a length"),
        (("--contours", "0.001 in"), "over 150 contours"),
        (("--contours", "80 ft"), "is more than"),
        (("--contours", "0"), "no interval"),
    ],
)
def test_what_cannot_be_drawn_is_refused(
    words: tuple[str, ...], said: str, root: Path, hummock: Callable, tmp_path: Path
) -> None:
    ended = hummock("shape", root / SITE, "--out", tmp_path / "out", *words)
    assert ended.returncode == 2
    assert said in ended.stderr
    assert not (tmp_path / "out").exists()
