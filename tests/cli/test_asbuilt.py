"""`hummock asbuilt` as an installer runs it."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest
from yards import results

SITE = "examples/alder-bend/site.toml"
FILES = {"asbuilt-shots.csv", "asbuilt.json", "asbuilt.pdf", "asbuilt.png"}


def write_shots(path: Path, coarse: Path, low: float, beside_trunk: float = 0.0) -> Path:
    """Shots at day-one grade less `low` metres over the mound, and at old grade plus `beside_trunk` near the oak."""
    import numpy as np

    from terrain.field.setout.set_out import grades
    from terrain.flow import run_site
    from terrain.ground.existing import points_over
    from terrain.site.read import read_site

    study = run_site(read_site(coarse / SITE))
    on = points_over(study.site.bed.outline.buffer(-0.1), 50)
    near = np.array(study.site.tree[0].at) + np.array([[0.9, 0.0], [0.0, 1.0], [-0.9, 0.0]])
    heights = np.concatenate([grades(study, on)[2] - low, grades(study, near)[0] + beside_trunk])
    rows = np.column_stack([np.vstack([on, near]), heights]) / 0.3048
    lines = [f"{k},{x:.4f},{y:.4f},{z:.4f}" for k, (x, y, z) in enumerate(rows, start=1)]
    path.write_text("\n".join(["point,x,y,elevation", *lines]) + "\n", encoding="utf-8")
    return path


@pytest.fixture(scope="module")
def checked(coarse: Path, hummock: Callable, tmp_path_factory: pytest.TempPathFactory) -> tuple:
    folder = tmp_path_factory.mktemp("asbuilt")
    file = write_shots(folder / "built.csv", coarse, 0.0508)
    return hummock("asbuilt", coarse / SITE, "--shots", file, "--out", folder / "out"), folder / "out"


def test_it_writes_a_map_a_table_and_json(checked: tuple) -> None:
    ended, folder = checked
    assert ended.returncode == 0, ended.stderr
    assert results(folder) == FILES


def test_the_terminal_says_what_is_missing_and_why(checked: tuple) -> None:
    ended, _ = checked
    for said in ("Missing", "90 % range", "loose to bring", "an even layer of 2 in is missing", "kept"):
        assert said in ended.stdout
    assert max(map(len, ended.stdout.splitlines())) <= 80


def test_the_summary_names_both_stages_and_the_volume(checked: tuple) -> None:
    _, folder = checked
    summary = json.loads((folder / "asbuilt.json").read_text())
    built = summary["asbuilt"]
    assert built["stage"] == "day one"
    area = summary["berm"]["worked_area_m2"]
    assert built["missing_placed_m3"] == pytest.approx(area * 0.0508, rel=0.01)
    assert {"day_one_m", "settled_m"} <= set(built["shots"][0])


@pytest.mark.slow
def test_soil_against_the_trunk_ends_with_status_one(coarse: Path, hummock: Callable, tmp_path: Path) -> None:
    file = write_shots(tmp_path / "built.csv", coarse, 0.0, 0.2)
    ended = hummock("asbuilt", coarse / SITE, "--shots", file, "--json", "--settled", "--out", tmp_path / "out")
    assert ended.returncode == 1, ended.stderr
    built = json.loads(ended.stdout)["asbuilt"]
    assert built["stage"] == "settled"
    assert any(f["level"] == "stop" and f["topic"] == "trees" for f in built["findings"])


@pytest.mark.slow
@pytest.mark.parametrize(
    ("text", "words", "said"),
    [
        ("point,x,y,elevation\n1,30,10,100\n", (), "holds 1 on the ground"),
        ("point,x,y\n1,30,10\n", (), "elevation"),
        ("point,x,y,elevation\n1,30,10,100\n2,31,12,100\n3,35,11,100\n", ("--tolerance", "9 ft"), "out of range"),
        (None, (), "asbuilt.csv"),
    ],
)
def test_a_slip_gets_one_message_and_no_file(
    text: str | None, words: tuple[str, ...], said: str, coarse: Path, hummock: Callable, tmp_path: Path
) -> None:
    file = tmp_path / "asbuilt.csv"
    if text is not None:
        file.write_text(text, encoding="utf-8")
    ended = hummock("asbuilt", coarse / SITE, "--shots", file, "--out", tmp_path / "out", *words)
    assert ended.returncode == 2
    assert said in ended.stderr
    assert "Traceback" not in ended.stderr
    assert not (tmp_path / "out").exists()
