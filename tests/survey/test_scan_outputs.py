"""What is told, drawn and offered of a scan: trunks as entries of a site file, the picture of what it was taken for."""

from __future__ import annotations

import json
import tomllib
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from ready_command import Run
from scan_sites import RING, scanned_site
from scanned_yards import ScannedYard, scanned_yard

from terrain.field.setout.level import level_shot
from terrain.files.scan_trees import offered_trunks, place_doubt, trees_text, trunk_words
from terrain.flow import run_site
from terrain.ground import model_ground
from terrain.shape import shape_berm
from terrain.site import Site, read_site
from viewer.page import PAPER, channels, lay_out
from viewer.plots import plot_scan
from viewer.sheets.scan_page import _seen


@pytest.fixture(scope="module")
def yard() -> ScannedYard:
    return scanned_yard(5, density=150.0)


@pytest.fixture(scope="module")
def folder(yard: ScannedYard, tmp_path_factory: pytest.TempPathFactory) -> Path:
    return scanned_site(tmp_path_factory.mktemp("scanned"), yard)


@pytest.fixture(scope="module")
def site(folder: Path) -> Site:
    return read_site(folder)


def test_offered_trunks_are_read_back_as_trees(yard: ScannedYard, folder: Path, site: Site) -> None:
    text = trees_text(site)
    offered = tomllib.loads(text)["tree"]
    assert len(offered) == len(yard.trunks)
    assert all(len(line) <= 120 for line in text.splitlines())
    folder.with_name("with-trees.toml").write_text(folder.read_text(encoding="utf-8") + text, encoding="utf-8")
    read = read_site(folder.with_name("with-trees.toml"))
    for x, y, radius in yard.trunks:
        tree = min(read.tree, key=lambda tree: np.hypot(tree.at[0] - x, tree.at[1] - y))
        assert np.hypot(tree.at[0] - x, tree.at[1] - y) < 0.04  # as the marks lay the scan
        assert tree.trunk == pytest.approx(2.0 * radius, rel=0.03)
        assert tree.flare > tree.trunk / 2.0
    assert offered_trunks(read) == ()  # what the site file has is not offered again
    assert trees_text(read) == ""


def test_what_a_tape_has_to_check_is_said(site: Site) -> None:
    assert site.survey.scan is not None
    one = site.survey.scan.trunks[0]
    odd = (
        replace(one, arc=np.radians(110.0)),
        replace(one, lean=0.3),
        replace(one, flare=None),
        replace(one, flare=one.diameter / 2.0),
    )
    changed = replace(site, survey=replace(site.survey, scan=replace(site.survey.scan, trunks=odd)))
    said = [" ".join(trunk.check) for trunk in offered_trunks(changed)]
    assert said == [
        "Seen on 110 degrees only: measure it with a tape.",
        "It leans 17 degrees: measure it across its axis.",
        "What the flare does is hidden: look.",
        "No flare shows at the ground: look whether it is buried.",
    ]
    assert all(f"# {words}" in trees_text(changed) for words in said)
    assert "flare" not in trees_text(changed).split("[[tree]]")[3].split("#")[0]


def test_feet_have_inches(site: Site) -> None:
    assert site.survey.scan is not None
    one = replace(site.survey.scan.trunks[0], diameter=0.6604, deviation=0.004)
    assert trunk_words(one, "ft").startswith("26.0 in ± 0.3 in at x ")


def test_places_are_as_sure_as_the_marks(site: Site) -> None:
    assert site.survey.scan is not None
    assert place_doubt(site) == pytest.approx(np.sqrt(np.mean(np.square(site.survey.scan.misses))))


@pytest.mark.slow
def test_a_level_is_not_set_on_a_point_of_a_scan(site: Site) -> None:
    chosen = level_shot(site, shape_berm(site, model_ground(site)))
    assert chosen is not None
    assert chosen.name in {f"shot {name}" for name in "ABCDEFGH"[: len(RING)]}


def test_the_picture_has_each_cell_where_it_is() -> None:
    sheet = lay_out((0.0, 0.0, 20.0, 20.0), (8.0, 6.0), "m")
    seen = np.array([(5.05, 5.05, 0.1, 1.0), (12.05, 15.05, 0.1, 0.2)])
    image = _seen(seen, sheet)
    west, south, east, north = sheet.window
    paper = np.round(np.array(channels(PAPER)) * 255.0)
    for x, y, _, share in seen:
        row = int((north - y) / (north - south) * image.shape[0])
        column = int((x - west) / (east - west) * image.shape[1])
        assert (float(image[row, column].mean()) > 200.0) == (share > 0.5)
        assert np.any(image[row, column] != paper)
    shown = np.any(image != paper, axis=2).mean() * (east - west) * (north - south)
    assert shown == pytest.approx(2 * 0.1 * 0.1, rel=0.3)


@pytest.mark.slow
def test_the_command_tells_draws_and_offers(hummock: Callable[..., Run], folder: Path) -> None:
    run = hummock("ground", folder, "--out", folder.parent / "out")
    assert run.returncode in (0, 1), run.stderr
    assert "and 8" in run.stdout
    for words in ("of yard.xyz", "Trunks    trunk 1: ", "scan-trees.toml", "laid on 5 marks", "they set the scan"):
        assert words in " ".join(run.stdout.split()).replace("Trunks ", "Trunks    ")
    out = folder.parent / "out"
    assert (out / "scan.png").stat().st_size > 20_000
    told = json.loads((out / "ground.json").read_text(encoding="utf-8"))["survey"]["scan"]
    assert told["file"] == "yard.xyz"
    assert 0.5 < told["ground_share"] < 0.95
    assert len(told["trunks"]) == 3
    assert abs(told["size_by_marks"] - 1.0) < 0.005
    assert len(told["mark_misses_m"]) == 5


@pytest.mark.slow
def test_a_scan_stands_on_axes_that_are_given(site: Site) -> None:
    from matplotlib.figure import Figure

    left, right = Figure(figsize=(8.0, 4.0)).subplots(1, 2)
    assert plot_scan(run_site(site, resolution=0.3), ax=right) is right
    (picture,) = right.images
    tints = np.unique(np.asarray(picture.get_array()).reshape(-1, 3), axis=0)
    assert len(tints) >= 3  # ground, what stands on it, and paper where nothing was seen
    assert {text.get_text() for text in right.texts} >= {one.name for one in offered_trunks(site)}
    assert not left.images
