"""`hummock suggest` by the real command: what it prints and writes, and that each suggestion runs as it is."""

from __future__ import annotations

import json
import re
import shutil
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from yards import results

from terrain.ground.existing import model_ground
from terrain.look.look import natural_look
from terrain.shape.berm import shape_berm
from terrain.site.read import read_site

OUTPUTS = {"suggest.png", "suggest.pdf", "suggest.svg", "summary.json"}
COPIES = {"suggest-shots.csv", "suggest-bed.csv"}  # a site file reads what lies in its own folder


@pytest.fixture(scope="module")
def suggested(tmp_path_factory: pytest.TempPathFactory, root: Path, hummock: Callable) -> tuple:
    """One run on a copy of the first shipped example with soil on hand: how it ended, site file and output folder."""
    yard = tmp_path_factory.mktemp("yard") / "front bed"
    shutil.copytree(root / "examples/alder-bend", yard, ignore=shutil.ignore_patterns("out"))
    site = yard / "site.toml"
    text = site.read_text(encoding="utf-8")
    site.write_text(
        text.replace("[berm]\n", '[berm]\nsoil      = "18 cu yd"          # in the heap by the walk\n'),
        encoding="utf-8",
    )
    return hummock("suggest", site), site, yard / "out"


def files_of(summary: dict) -> list[str]:
    return [one["file"] for one in summary["suggestions"]]


def summary_in(folder: Path) -> dict:
    return json.loads((folder / "summary.json").read_text(encoding="utf-8"))


@pytest.mark.slow
def test_sheet_summary_and_site_files_are_written(suggested: tuple) -> None:
    ended, _, folder = suggested
    assert ended.returncode == 0, ended.stderr
    summary = summary_in(folder)
    assert 3 <= len(summary["suggestions"]) <= 7
    assert files_of(summary) == [f"suggest-{k + 1}.toml" for k in range(len(summary["suggestions"]))]
    assert results(folder) == OUTPUTS | COPIES | set(files_of(summary))


@pytest.mark.slow
def test_the_terminal_shows_every_form_in_80_columns(suggested: tuple) -> None:
    ended, _, folder = suggested
    for word in ("form", "height", "soil", "look", "as drawn", "bur oak", "% of root protection zone", "suggest"):
        assert word in ended.stdout
    for one in summary_in(folder)["suggestions"]:
        assert re.search(rf"^{one['number']}  {one['name']}  .* (in|ft) +[\d.]+ cu yd  ", ended.stdout, re.MULTILINE)
    assert max(map(len, ended.stdout.splitlines())) <= 80
    assert "\x1b[" not in ended.stdout


@pytest.mark.slow
def test_every_suggestion_has_figures_and_breaks_no_limit(suggested: tuple) -> None:
    summary = summary_in(suggested[2])
    assert summary["format"] == "hummock-summary/2"
    for one in summary["suggestions"]:
        assert one["berm"]["steepest"] <= one["berm"]["limit"] + 1e-6
        assert all(tree["fill_in_keep_off_m3"] == 0.0 for tree in one["trees"])
        assert {"reads_natural", "signs"} <= one["look"].keys()
        soil = 18 * 27 * 0.3048**3
        assert one["order"]["expected_loose_m3"] == pytest.approx(soil, rel=0.005)
    assert summary["suggestions"][0]["look"]["reads_natural"]


@pytest.mark.slow
def test_comments_and_all_other_keys_are_kept(suggested: tuple) -> None:
    _, site, folder = suggested
    original = read_site(site)
    comments = re.findall(r"#.*", site.read_text(encoding="utf-8"))
    for file in files_of(summary_in(folder)):
        text = (folder / file).read_text(encoding="utf-8")
        assert text.startswith("# Suggestion ")
        for comment in comments:
            assert comment in text
        again = read_site(folder / file)
        assert original.bed.outline.buffer(1e-4).contains(again.bed.outline)
        assert replace(again.bed, outline=original.bed.outline) == original.bed
        assert again.tree == original.tree
        assert again.soil == original.soil
        assert np.array_equal(again.survey.shots, original.survey.shots)
        assert again.berm.max_slope <= original.berm.max_slope
        assert again.berm.soil == pytest.approx(original.berm.soil, abs=1e-4)
        assert again.berm.crest != original.berm.crest


@pytest.mark.slow
def test_each_file_builds_the_form_that_was_shown(suggested: tuple) -> None:
    _, site, folder = suggested
    ground = model_ground(read_site(site))
    for one in summary_in(folder)["suggestions"]:
        again = read_site(folder / one["file"])
        proposal = shape_berm(again, ground)
        assert proposal.fill.max() == pytest.approx(one["berm"]["height_m"], abs=2e-3)
        look = natural_look(ground.grid, ground.elevation, proposal.elevation, again.bed.outline)
        assert look.reads_natural == one["look"]["reads_natural"]


@pytest.mark.slow
def test_shape_runs_a_suggestion_as_it_is(suggested: tuple, hummock: Callable, tmp_path: Path) -> None:
    ended = hummock("shape", suggested[2] / "suggest-1.toml", "--json", "--out", tmp_path / "out")
    assert ended.returncode == 0, ended.stderr
    printed = json.loads(ended.stdout)
    told = summary_in(suggested[2])["suggestions"][0]
    assert printed["order"]["expected_loose_m3"] == pytest.approx(told["order"]["expected_loose_m3"], rel=0.005)
    assert printed["site"].endswith(f": {told['name']}")


@pytest.mark.slow
def test_json_alone_on_standard_output_and_files_found_from_another_folder(
    coarse: Path, hummock: Callable, tmp_path: Path
) -> None:
    out = tmp_path / "a" / "b"
    ended = hummock("suggest", coarse / "examples/larkspur-rise/site.toml", "--json", "--out", out)
    assert ended.returncode == 0, ended.stderr
    assert json.loads(ended.stdout) == summary_in(out)
    copied, original = read_site(out / "suggest-1.toml"), read_site(coarse / "examples/larkspur-rise/site.toml")
    assert np.array_equal(copied.survey.shots, original.survey.shots)
    assert copied.bed.outline.equals(original.bed.outline)
    assert read_site(out / "suggest-1.toml").bed == read_site(coarse / "examples/larkspur-rise/site.toml").bed


@pytest.mark.slow
def test_a_refused_site_leaves_nothing_behind(root: Path, hummock: Callable, tmp_path: Path) -> None:
    yard = tmp_path / "yard"
    shutil.copytree(root / "examples/alder-bend", yard, ignore=shutil.ignore_patterns("out"))
    text = (yard / "site.toml").read_text(encoding="utf-8")
    (yard / "site.toml").write_text(text.replace("max_slope", "max_slop"), encoding="utf-8")
    ended = hummock("suggest", yard / "site.toml")
    assert ended.returncode == 2
    assert "max_slope" in ended.stderr
    assert "Traceback" not in ended.stderr
    assert not (yard / "out").exists()
