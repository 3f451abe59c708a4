"""The starter folder runs as it is, and so does every line of it that waits behind a mark."""

from __future__ import annotations

import csv
import re
import shutil
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from scipy.interpolate import LinearNDInterpolator, NearestNDInterpolator

from terrain.flow import run_site
from terrain.limits import FOOT
from terrain.site.read import read_site

WAITING = re.compile(r"(?:^# (?:\[+\w+\]+|\w+ *=).*\n)+", re.MULTILINE)


def waiting_blocks() -> list[tuple[str, int]]:
    """(units, number) of each block of lines that waits behind marks, in both starters."""
    starters = Path(__file__).resolve().parents[2] / "cli/starter"
    return [
        (units, number)
        for units in ("feet", "metres")
        for number in range(len(WAITING.findall((starters / units / "site.toml").read_text(encoding="utf-8"))))
    ]


def test_both_starters_offer_the_same_blocks() -> None:
    numbers = {units: [n for u, n in waiting_blocks() if u == units] for units in ("feet", "metres")}
    assert numbers["feet"] == numbers["metres"]
    assert len(numbers["feet"]) >= 6


def shots_of(yard: Path) -> list[dict[str, str]]:
    with (yard / "shots.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(line for line in file if not line.startswith("#")))


def lay_picture(yard: Path) -> None:
    """The picture from above that a line of the starter names, with its marks: the owner brings both."""
    shots = shots_of(yard)
    rows = [f"{shot['point']},{20 + 4 * float(shot['x']):.2f},{380 - 4 * float(shot['y']):.2f}" for shot in shots[:12]]
    (yard / "air-marks.csv").write_text("\n".join(["point,u,v", *rows]) + "\n", encoding="utf-8")
    Image.new("RGB", (400, 400), (90, 120, 60)).save(yard / "air.jpg")


def lay_scan(yard: Path, unit: float) -> None:
    """The scan that another line names, with its marks: metres, the ground between the shots."""
    shots = shots_of(yard)
    seen = unit * np.array([[float(shot[axis]) for axis in ("x", "y", "elevation")] for shot in shots])
    low, high = seen[:, :2].min(axis=0), seen[:, :2].max(axis=0)
    places = np.random.default_rng(5).uniform(low, high, (40_000, 2))
    between, nearest = (kind(seen[:, :2], seen[:, 2])(places) for kind in (LinearNDInterpolator, NearestNDInterpolator))
    points = np.column_stack([places, np.where(np.isfinite(between), between, nearest)])
    head = "".join(f"property float {axis}\n" for axis in "xyz")
    with (yard / "yard.ply").open("wb") as file:
        file.write(f"ply\nformat ascii 1.0\nelement vertex {len(points)}\n{head}end_header\n".encode())
        np.savetxt(file, points, fmt="%.4f")
    rows = [",".join([shot["point"], *(f"{value:.4f}" for value in at)]) for shot, at in zip(shots, seen, strict=True)]
    (yard / "marks.csv").write_text("\n".join(["point,x,y,z", *rows]) + "\n", encoding="utf-8")


@pytest.mark.slow
@pytest.mark.parametrize(("units", "number"), waiting_blocks())
def test_a_waiting_block_runs_once_its_marks_are_gone(units: str, number: int, root: Path, tmp_path: Path) -> None:
    yard = tmp_path / "yard"
    shutil.copytree(root / "cli/starter" / units, yard)
    text = (yard / "site.toml").read_text(encoding="utf-8")
    place = list(WAITING.finditer(text))[number]
    block = re.sub(r"^# ", "", place.group(), flags=re.MULTILINE)
    live = text[: place.start()] + block + text[place.end() :]
    (yard / "site.toml").write_text(live, encoding="utf-8")
    if "air.jpg" in block:
        lay_picture(yard)
    if "yard.ply" in block:
        lay_scan(yard, FOOT if units == "feet" else 1.0)
    study = run_site(read_site(yard / "site.toml"), resolution=0.3)
    assert study.order.expected > 0
    assert study.proposal.steepest <= study.site.berm.max_slope + 1e-6
    assert not study.review.stopped


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("yard", "--page", "--ask"), "--ask, --page and --sheet do not go together."),
        (("--sheet", "yard.xlsx", "--page"), "--ask, --page and --sheet do not go together."),
        (("yard", "--port", "4444"), "--port goes with --page."),
        (("--page",), "Give a folder, or --sheet FILE.xlsx."),
    ],
)
def test_ways_to_begin_that_do_not_go_together(
    words: tuple[str, ...], told: str, hummock: Callable, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    run = hummock("new", *words)
    assert (run.returncode, run.stdout) == (2, "")
    assert told in run.stderr
    assert list(tmp_path.iterdir()) == []
