"""The main job by the real command: the shipped examples and the starter, whole runs with every file."""

from __future__ import annotations

import json
import math
import os
import shutil
import textwrap
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
import trimesh
from small_yard import small_yard
from yards import results

from terrain.site.read import read_site

DRAWINGS = {
    *("plan.pdf", "plan.png", "sections.png", "cutfill.png", "view.png", "skyline.png", "slope.png", "signs.png"),
    *("eye_house_window.png", "eye_street.png", "eye_path.png", "water.png", "review.pdf"),
}
MESHES = {f"{part}.{kind}" for part in ("existing", "proposed", "fill") for kind in ("glb", "stl", "ply")}
ALL_FILES = {"summary.json"} | DRAWINGS | MESHES

KEYS = {
    "ground": {"shots", "doubtful", "method", "check_rms_m", "cell_m", "nodes"},
    "berm": {"height_m", "limit", "steepest", "area_m2", "height_scale"},
    "earthwork": {
        *("fill_placed_m3", "cut_bank_m3", "sod_m3", "mulch_m3", "fill_placed_low_m3", "fill_placed_high_m3"),
        "checks_m3",
    },
    "look": {"reads_natural", "signs"},
}


def no_constant(word: str) -> float:
    raise AssertionError(f"{word} is not JSON")


def read_summary(text: str) -> dict:
    """Strict JSON: NaN and Infinity, which Python would read, are refused."""
    return json.loads(text, parse_constant=no_constant)


@pytest.fixture(scope="module")
def alder(tmp_path_factory: pytest.TempPathFactory, root: Path, hummock: Callable) -> tuple:
    """One whole run of the first shipped example: how it ended, and its folder."""
    folder = tmp_path_factory.mktemp("alder") / "results"
    return hummock("shape", root / "examples/alder-bend/site.toml", "--out", folder), folder


def test_the_shipped_example_runs_to_the_end(alder: tuple) -> None:
    ended, folder = alder
    assert ended.returncode == 0, ended.stderr
    assert results(folder) == ALL_FILES
    assert all(path.stat().st_size > 0 for path in folder.iterdir())


def test_the_terminal_says_what_to_order_and_what_holds(alder: tuple) -> None:
    ended, folder = alder
    for word in (
        "Alder Bend",
        "Order",
        "cu yd loose",
        "kept",
        "4.0:1",
        "bur oak",
        min(str(folder), os.path.relpath(folder), key=len),
    ):
        assert word in ended.stdout
    assert "\x1b[" not in ended.stdout, "no colour into a pipe"
    assert max(map(len, ended.stdout.splitlines())) <= 80


def test_the_readme_and_the_guide_show_what_the_command_prints(alder: tuple, root: Path) -> None:
    printed = alder[0].stdout
    guide = (root / "examples/guide/commands.md").read_text(encoding="utf-8")
    assert textwrap.indent(printed.split("\nFiles")[0], "    ") in guide
    ten = printed[printed.index("Order ") : printed.index("\nLook")]
    assert textwrap.indent(ten, "    ") in (root / "README.md").read_text(encoding="utf-8")


def test_the_summary_holds_every_promised_key(alder: tuple) -> None:
    summary = read_summary((alder[1] / "summary.json").read_text(encoding="utf-8"))
    assert summary["format"] == "hummock-summary/2"
    for part, keys in KEYS.items():
        assert keys <= summary[part].keys()
    assert {"grid", "mesh", "sections"} <= summary["earthwork"]["checks_m3"].keys()
    tree = summary["trees"][0]
    assert tree["fill_in_keep_off_m3"] == 0.0
    assert tree["keep_off_m"] == pytest.approx(10.0 * 0.3048, abs=1e-9)
    assert tree["root_zone_m"] == pytest.approx(30 * 0.3048, abs=1e-9)
    assert len(summary["offset_m"]) == 3
    for finding in summary["findings"]:
        assert {"level", "topic", "text", "value", "bound", "source", "at"} <= finding.keys()


def test_the_figures_of_the_example_are_those_of_its_site(alder: tuple, root: Path) -> None:
    summary = read_summary((alder[1] / "summary.json").read_text(encoding="utf-8"))
    site = read_site(root / "examples/alder-bend/site.toml")
    assert summary["ground"]["shots"] == len(site.survey.shots)
    assert summary["berm"]["area_m2"] == pytest.approx(site.bed.outline.area, rel=1e-12)
    assert summary["berm"]["steepest"] <= summary["berm"]["limit"] + 1e-6
    work = summary["earthwork"]
    order = summary["order"]
    assert order["low_loose_m3"] <= order["expected_loose_m3"] <= order["high_loose_m3"]
    assert work["fill_placed_low_m3"] <= work["fill_placed_m3"] <= work["fill_placed_high_m3"]
    truck = 10 * 27 * 0.3048**3
    assert order["trucks"] == math.ceil(order["quantity_loose_m3"] / truck)


def test_the_three_volumes_agree(alder: tuple) -> None:
    checks = read_summary((alder[1] / "summary.json").read_text(encoding="utf-8"))["earthwork"]["checks_m3"]
    assert max(checks.values()) / min(checks.values()) - 1 < 0.005


def test_the_written_solid_is_closed_and_in_its_stated_place(alder: tuple, root: Path) -> None:
    summary = read_summary((alder[1] / "summary.json").read_text(encoding="utf-8"))
    bed = read_site(root / "examples/alder-bend/site.toml").bed.outline.bounds
    for kind in ("stl", "ply"):
        solid = trimesh.load(alder[1] / f"fill.{kind}", force="mesh")
        assert solid.is_watertight
        assert solid.volume > 0
        # Files hold single precision; the place of the solid must be that of the bed to a tenth of a millimetre.
        west, south = (solid.bounds[0] + summary["offset_m"])[:2]
        east, north = (solid.bounds[1] + summary["offset_m"])[:2]
        assert west >= bed[0] - 1e-4
        assert south >= bed[1] - 1e-4
        assert east <= bed[2] + 1e-4
        assert north <= bed[3] + 1e-4


def test_no_facet_of_the_written_surface_is_steeper_than_the_limit(alder: tuple, root: Path) -> None:
    """The finished ground, facet by facet where it was raised; single precision in the file allows for 1e-4."""
    existing = trimesh.load(alder[1] / "existing.ply", force="mesh", process=False)
    proposed = trimesh.load(alder[1] / "proposed.ply", force="mesh", process=False)
    raised = (proposed.vertices[:, 2] - existing.vertices[:, 2])[proposed.faces].max(axis=1) > 1e-6
    slopes = np.hypot(*proposed.face_normals[raised, :2].T) / np.abs(proposed.face_normals[raised, 2])
    assert raised.sum() > 1000
    assert slopes.max() <= 0.25 + 1e-4


@pytest.mark.slow
def test_json_prints_the_summary_and_nothing_else(tmp_path: Path, root: Path, hummock: Callable) -> None:
    ended = hummock("shape", root / "examples/larkspur-rise/site.toml", "--json", "--out", tmp_path / "out")
    assert ended.returncode == 0, ended.stderr
    printed = read_summary(ended.stdout)
    assert printed == read_summary((tmp_path / "out/summary.json").read_text(encoding="utf-8"))
    assert [tree["name"] for tree in printed["trees"]] == ["river birch", "sugar maple"]


@pytest.mark.slow
@pytest.mark.parametrize("units", ["ft", "m"])
def test_new_writes_a_folder_that_shape_runs_as_it_is(units: str, tmp_path: Path, hummock: Callable) -> None:
    yard = tmp_path / "my yard"
    assert hummock("new", yard, "--units", units).returncode == 0
    ended = hummock("shape", yard / "site.toml")
    assert ended.returncode == 0, ended.stderr
    assert results(yard / "out") == ALL_FILES


@pytest.mark.slow
def test_spreadsheet_habits_in_a_table_change_nothing(tmp_path: Path, root: Path, hummock: Callable) -> None:
    """A byte-order mark, Windows line ends, semicolons and decimal commas read as the plain table does."""
    answers = []
    for habit in (False, True):
        yard = tmp_path / str(habit)
        shutil.copytree(root / "examples/larkspur-rise", yard, ignore=shutil.ignore_patterns("out"))
        if habit:
            rows = (yard / "shots.csv").read_text(encoding="utf-8").splitlines()
            text = "\r\n".join(row.replace(",", ";").replace(".", ",") for row in rows if row[0] != "#")
            (yard / "shots.csv").write_bytes(b"\xef\xbb\xbf" + text.encode() + b"\r\n")
        answers.append(read_summary(hummock("order", yard / "site.toml", "--json").stdout))
    assert answers[0] == answers[1]


@pytest.mark.slow
def test_a_run_replaces_its_own_files_and_keeps_all_others(tmp_path: Path, hummock: Callable) -> None:
    site, out = small_yard(tmp_path / "yard"), tmp_path / "out"
    out.mkdir()
    (out / "notes.txt").write_text("mine", encoding="utf-8")
    (out / "summary.json").write_text("old", encoding="utf-8")
    ended = hummock("shape", site, "--out", out)
    assert ended.returncode == 0, ended.stderr
    assert results(out) >= {"summary.json", "plan.pdf", "view.png", "notes.txt"} | MESHES
    assert (out / "notes.txt").read_text(encoding="utf-8") == "mine"
    assert read_summary((out / "summary.json").read_text(encoding="utf-8"))


def test_the_help_page_loads_no_heavy_package(hummock: Callable) -> None:
    """What keeps the help quick, told without a clock."""
    ended = hummock("--help", environment={"PYTHONPROFILEIMPORTTIME": "1"})
    assert ended.returncode == 0
    for package in ("numpy", "scipy", "shapely", "pydantic", "matplotlib", "rich", "trimesh", "pint"):
        assert f" {package}\n" not in ended.stderr
    assert "shape" in ended.stdout
