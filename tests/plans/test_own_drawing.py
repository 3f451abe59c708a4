"""The tool's own drawing, read as somebody else's plan, gives the mound that it shows: by faces, and by contours."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from terrain.flow import run_site
from terrain.planned import run_plan
from terrain.site import PlanOptions, read_design, read_site

SITE = "examples/alder-bend/site.toml"
BY_CONTOURS = {"existing": ("existing contours", "shots"), "proposed": ("proposed contours",)}


@pytest.mark.slow
@pytest.mark.usefixtures("forked_readers")
def test_the_own_drawing_is_read_back_as_the_mound_that_it_shows(
    coarse: Path, hummock: Callable, tmp_path: Path
) -> None:
    site_file = coarse / SITE
    ended = hummock("export", site_file, "--to", "dxf", "--out", tmp_path)
    assert ended.returncode == 0, ended.stderr
    own = run_site(read_site(site_file))
    tree = own.review.trees[0]
    # Faces are thinned to a hundredth of a foot; half a foot between contours leaves a few hundredths of the soil open.
    for layers, close in (({}, 0.02), (BY_CONTOURS, 0.06)):
        study = run_plan(read_design(tmp_path / "yard.dxf", PlanOptions(layers=layers)))
        check = study.review.trees[0]
        assert study.work.rise == pytest.approx(own.work.rise, rel=close)
        assert check.trunk == pytest.approx(tree.trunk, abs=1e-6)
        assert check.root_zone == pytest.approx(tree.root_zone, abs=1e-6)
        assert check.fill_in_root_zone == pytest.approx(tree.fill_in_root_zone, rel=close)
        assert check.deepest_fill_in_root_zone == pytest.approx(tree.deepest_fill_in_root_zone, abs=0.025)  # an inch
        assert check.share_of_root_zone_covered == pytest.approx(tree.share_of_root_zone_covered, abs=0.03)
        assert study.review.look.reads_natural == own.review.look.reads_natural
