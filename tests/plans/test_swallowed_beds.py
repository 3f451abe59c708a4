"""A keep-off that was left out, or that takes the whole bed, is a finding of the root check and never a refusal."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest
from small_yard import SITE, small_yard

from terrain.errors import InputError
from terrain.flow import run_site
from terrain.root_check import run_roots
from terrain.site import read_site


def yard(folder: Path, keep_off: str, trunk: str = "80 cm") -> Path:
    path = small_yard(folder)
    text = SITE.format(name="beside the oak").replace('keep_off = "50 cm"\n', keep_off)
    path.write_text(text.replace('trunk = "20 cm"', f'trunk = "{trunk}"').replace('flare = "20 cm"\n', ""))
    return path


@pytest.mark.parametrize(
    ("keep_off", "by"), [("", "since no keep_off is stated"), ('keep_off = "9 m"\n', "by the site file")]
)
def test_a_bed_that_a_keep_off_takes_is_checked_all_the_same(keep_off: str, by: str, tmp_path: Path) -> None:
    site = read_site(yard(tmp_path, keep_off))
    with pytest.raises(InputError, match="leave no ground in the bed"):
        run_site(site)
    study = run_roots(site)
    stop = study.review.findings[0]
    assert (stop.level, stop.topic) == ("stop", "trees")
    assert "oak: its keep-off of" in stop.text
    assert by in stop.text
    check = study.review.trees[0]
    assert check.keep_off == pytest.approx(9.0 if keep_off else 9.6, abs=1e-9)  # 12 diameters by the usual rule
    # All the soil that is asked for lies in the keep-off: to what the mesh sums in another order.
    assert check.fill_in_keep_off == pytest.approx(study.work.rise, rel=1e-6)
    assert study.work.rise > 0.1


def test_a_bed_with_room_is_checked_as_before(tmp_path: Path) -> None:
    site = read_site(small_yard(tmp_path))
    found, usual = run_roots(site), run_site(site)
    assert [one.text for one in found.review.findings] == [one.text for one in usual.review.findings]


def test_the_command_writes_the_page_and_says_stop(hummock: Callable, tmp_path: Path) -> None:
    ended = hummock("trees", yard(tmp_path, ""), "--json")
    assert ended.returncode == 1, ended.stderr
    assert "leaves no ground in the bed for soil" in json.loads(ended.stdout)["findings"][0]["text"]
    assert (tmp_path / "out/trees.pdf").is_file()
