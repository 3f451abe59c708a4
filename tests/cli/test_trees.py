"""`hummock trees` as the person who answers for the trees runs it."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest
from yards import results

SITE = "examples/larkspur-rise/site.toml"


@pytest.fixture(scope="module")
def checked(coarse: Path, hummock: Callable, tmp_path_factory: pytest.TempPathFactory) -> tuple:
    folder = tmp_path_factory.mktemp("trees") / "out"
    return hummock("trees", coarse / SITE, "--out", folder), folder


def test_it_writes_a_page_for_each_tree_and_the_summary(checked: tuple) -> None:
    ended, folder = checked
    assert ended.returncode == 0, ended.stderr
    assert results(folder) == {"trees.json", "trees.pdf"}
    pages = (folder / "trees.pdf").read_bytes()
    assert pages.startswith(b"%PDF")
    assert pages.count(b"/Type /Page ") == 2


def test_the_terminal_tells_every_circle_ring_and_question(checked: tuple) -> None:
    ended, folder = checked
    for words in ("river birch", "sugar maple", "kept  no soil within 2.60 m of", "3 x diameter", "structural roots"):
        assert words in ended.stdout
    for words in ("x diameter", "out to", "10-20", "covered", "zone", "roots met by", "rill"):
        assert words in ended.stdout
    told = " ".join(ended.stdout.split())
    findings = json.loads((folder / "trees.json").read_text())["findings"]
    for finding in findings:
        if finding["topic"] == "trees":
            assert finding["text"] in told
    assert max(map(len, ended.stdout.splitlines())) <= 80
    assert "\x1b[" not in ended.stdout


def test_no_words_promise_what_no_figure_can(checked: tuple) -> None:
    said = checked[0].stdout.lower()
    for word in ("safe", "compliant", "will survive", "stable"):
        assert word not in said


def test_the_json_has_the_fixed_keys_and_each_ring(checked: tuple) -> None:
    summary = json.loads((checked[1] / "trees.json").read_text())
    assert summary["format"] == "hummock-summary/2"
    maple = next(tree for tree in summary["trees"] if tree["name"] == "sugar maple")
    # Trunk 55 cm, BS 5837:2012: 12 x 0.55 = 6.60 m; structural root zone by AS 4970-2009 cl. 3.3.5.
    assert maple["root_zone_m"] == pytest.approx(6.60, abs=1e-9)
    assert maple["structural_root_zone_m"] == pytest.approx(0.64 * 27.5**0.42, abs=1e-9)
    assert maple["fill_in_keep_off_m3"] == 0.0
    assert maple["nearest_fill_in_diameters"] == pytest.approx(maple["nearest_fill_m"] / 0.55, rel=1e-12)
    rings = maple["rings"]
    assert rings[0]["inner_m"] == 0.70
    assert rings[-1]["outer_m"] == pytest.approx(6.60, abs=1e-9)
    # The flare holds no soil, so that the rings hold all of the zone's soil; sums of clipped triangles, 1e-9 m3.
    assert sum(ring["fill_m3"] for ring in rings) == pytest.approx(maple["fill_in_root_zone_m3"], abs=1e-9)
    assert [dig["name"] for dig in maple["digs"]] == ["rill"]


@pytest.mark.slow
def test_a_narrow_screen_keeps_to_its_width(coarse: Path, hummock: Callable, tmp_path: Path) -> None:
    ended = hummock("trees", coarse / SITE, "--out", tmp_path / "out", environment={"COLUMNS": "40"}, cwd=tmp_path)
    assert ended.returncode == 0, ended.stderr
    assert max(map(len, ended.stdout.splitlines())) <= 40
    assert "deepest" in ended.stdout
    assert "10-20" not in ended.stdout


@pytest.mark.slow
def test_json_stands_alone_on_standard_output(coarse: Path, hummock: Callable, tmp_path: Path) -> None:
    ended = hummock("trees", coarse / SITE, "--json", "--out", tmp_path / "out")
    assert ended.returncode == 0, ended.stderr
    assert json.loads(ended.stdout) == json.loads((tmp_path / "out/trees.json").read_text())


def test_a_yard_without_trees_is_refused_with_one_message_and_no_file(
    root: Path, hummock: Callable, tmp_path: Path
) -> None:
    folder = tmp_path / "yard"
    assert hummock("new", folder).returncode == 0
    text = (folder / "site.toml").read_text(encoding="utf-8")
    start, end = text.index("[[tree]]"), text.index("[trees]")
    (folder / "site.toml").write_text(text[:start] + text[end:], encoding="utf-8")
    ended = hummock("trees", folder / "site.toml")
    assert ended.returncode == 2
    assert "[[tree]]: no tree is listed. Add a [[tree]] with its name, at and trunk." in ended.stderr
    assert "Traceback" not in ended.stderr
    assert not (folder / "out").exists()


@pytest.mark.slow
def test_soil_past_what_an_arborist_has_allowed_ends_with_status_1(
    root: Path, hummock: Callable, tmp_path: Path
) -> None:
    folder = tmp_path / "yard"
    assert hummock("new", folder).returncode == 0
    text = (folder / "site.toml").read_text(encoding="utf-8")
    line = 'allowed = { fill = "1 in", by = "A. Person", licence = "12-3", date = "2026-05-04" }'
    text = text.replace("\n[trees]", f"\n{line}\n[trees]", 1)
    (folder / "site.toml").write_text(text, encoding="utf-8")
    ended = hummock("trees", folder / "site.toml")
    assert ended.returncode == 1, ended.stderr
    assert "past the 1 in that the site file allows there" in " ".join(ended.stdout.split())
