"""`hummock ground` as a crew runs it: the shipped example; a yard with a bust, a breakline and a shot left out."""

from __future__ import annotations

import json
import math
from collections.abc import Callable
from pathlib import Path
from subprocess import CompletedProcess

import pytest
from yards import results

FILES = {"ground.pdf", "ground.png", "sureness.png", "ground.json"}
Run = Callable[..., CompletedProcess[str]]
Ended = tuple[CompletedProcess[str], Path]


@pytest.fixture(scope="module")
def plain(coarse: Path, hummock: Run, tmp_path_factory: pytest.TempPathFactory) -> Ended:
    folder = tmp_path_factory.mktemp("ground") / "out"
    return hummock("ground", coarse / "examples/alder-bend/site.toml", "--out", folder), folder


@pytest.fixture(scope="module")
def busted(coarse: Path, hummock: Run, tmp_path_factory: pytest.TempPathFactory) -> Ended:
    """The metric example with shot L35 shot 0.30 m too high, one shot left out and a breakline along the patio."""
    yard = tmp_path_factory.mktemp("busted")
    for name in ("site.toml", "shots.csv", "bed.geojson"):
        text = (coarse / "examples/larkspur-rise" / name).read_text(encoding="utf-8")
        text = text.replace("L35,508.60,208.80,31.945", "L35,508.60,208.80,32.245")
        lines = '[survey]\nleave_out = ["L33"]\nbreaklines = [[[503.0, 214.4, 32.42], [514.5, 214.4, 32.63]]]'
        (yard / name).write_text(text.replace("[survey]", lines), encoding="utf-8")
    return hummock("ground", yard / "site.toml", "--json", "--out", yard / "out"), yard / "out"


def test_it_writes_pages_pictures_and_json(plain: Ended) -> None:
    ended, folder = plain
    assert ended.returncode == 0, ended.stderr
    assert results(folder) == FILES
    pages = (folder / "ground.pdf").read_bytes()
    assert pages.startswith(b"%PDF")
    assert pages.count(b"/Type /Page ") == 3  # existing grade, how sure it is, and the notes that found no room there


def test_the_terminal_tells_method_errors_shares_and_where_to_shoot(plain: Ended) -> None:
    ended, _ = plain
    for words in (
        "Surface   kriging",
        "(triangulation)",
        "no shot disagrees",
        "90 % range",
        "existing grade",
        "Where to shoot next",
        "N1 ",
        " from house ",
        "left of",
    ):
        assert words in ended.stdout
    assert max(map(len, ended.stdout.splitlines())) <= 80
    assert "\x1b[" not in ended.stdout


def test_each_place_lies_where_its_two_tapes_put_it(plain: Ended) -> None:
    """Known points of the example in feet: the house's corners and those of the walk."""
    corners = {"house NE": (30, 58), "house SE": (30, 45), "house SW": (4, 45), "house NW": (4, 58)}
    corners |= {
        "front walk SW": (14, 0),
        "front walk SE": (18, 0),
        "front walk NW": (14, 45),
        "front walk NE": (18, 45),
    }
    _, folder = plain
    found = json.loads((folder / "ground.json").read_text())["survey"]["next_shots"]
    assert 1 <= len(found) <= 3
    for one in found:
        tapes = one["tapes"]
        for end in ("start", "end"):
            known = [0.3048 * part for part in corners[tapes[end]]]
            assert math.dist(known, one["at"]) == pytest.approx(tapes[f"from_{end}_m"], abs=1e-9)


def test_the_summary_has_every_error_every_share_and_the_range_after(plain: Ended) -> None:
    _, folder = plain
    summary = json.loads((folder / "ground.json").read_text())
    assert summary["format"] == "hummock-summary/2"
    errors = summary["ground"]["errors_m"]
    assert set(errors) == {"triangulation", "thin_plate", "kriging"}
    assert summary["ground"]["method"] == "kriging"
    parts = {share["cause"]: share["deviation"] for share in summary["order"]["range_parts_m3"]}
    assert {"existing grade", "sod depth", "swell", "shrink", "settlement"} <= set(parts)
    survey = summary["survey"]
    assert survey["ground_part_of_order_m3"] == pytest.approx(1.6449 * parts["existing grade"], rel=1e-4)
    parts_left = [survey["ground_part_of_order_m3"], *(one["ground_part_of_order_m3"] for one in survey["next_shots"])]
    assert parts_left == sorted(parts_left, reverse=True)
    last, order = survey["next_shots"][-1], summary["order"]
    widths = [one["high_loose_m3"] - one["low_loose_m3"] for one in (last, order)]
    assert widths[0] < widths[1]


@pytest.mark.slow
def test_a_bust_is_named_and_kept_a_left_out_shot_and_breaklines_are_told(busted: Ended) -> None:
    ended, folder = busted
    assert ended.returncode in (0, 1), ended.stderr
    summary = json.loads(ended.stdout)
    assert summary == json.loads((folder / "ground.json").read_text())
    (doubt,) = summary["survey"]["doubtful"]
    assert doubt["name"] == "L35"
    assert doubt["residual"] == pytest.approx(0.30, abs=0.08)
    assert summary["ground"]["doubtful"] == ["L35"]
    assert summary["ground"]["shots"] == 45  # 46 less the one left out: the doubtful one stays
    assert [shot["name"] for shot in summary["survey"]["left_out"]] == ["L33"]
    assert summary["survey"]["breaklines"] == 1
    assert summary["ground"]["method"] == "triangulation"
    assert results(folder) == FILES


def test_an_unknown_shot_to_leave_out_is_refused_with_the_nearest(coarse: Path, hummock: Run, tmp_path: Path) -> None:
    for name in ("site.toml", "shots.csv", "bed.geojson"):
        text = (coarse / "examples/larkspur-rise" / name).read_text(encoding="utf-8")
        (tmp_path / name).write_text(text.replace("[survey]", '[survey]\nleave_out = ["L333"]'), encoding="utf-8")
    ended = hummock("ground", tmp_path / "site.toml", "--out", tmp_path / "out")
    assert ended.returncode == 2
    assert '[survey] leave_out: "L333" is no shot of the survey. Did you mean "L33"?' in ended.stderr
    assert not (tmp_path / "out").exists()


@pytest.mark.slow
def test_of_three_shots_it_is_said_once_that_they_are_too_few_to_tell(hummock: Run, tmp_path: Path) -> None:
    (tmp_path / "site.toml").write_text(
        'name = "invented"\nunits = "m"\n[survey]\nshots = [[0, 0, 10], [20, 0, 10.2], [10, 18, 9.9]]\n'
        "[bed]\noutline = [[6, 3], [14, 3], [13, 8], [7, 8]]\n"
        '[berm]\nmax_slope = "3:1"\ncrest = [[10, 5.5, "40 cm"]]\n'
    )
    ended = hummock("ground", tmp_path / "site.toml", "--out", tmp_path / "out")
    assert ended.returncode == 0
    assert ended.stdout.count("too few shots to tell") == 1
    assert "root mean square" not in ended.stdout
    assert "nan" not in ended.stdout
