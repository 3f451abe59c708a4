"""A high point may be given by its elevation: the mound stands as if the height there had been given."""

from __future__ import annotations

import shutil
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from random_sites import ground_on, site_with
from shapely.geometry import box

from terrain.errors import InputError
from terrain.grid import Grid
from terrain.ground.model import Ground
from terrain.shape.berm import shape_berm
from terrain.shape.crest import crest_heights, with_heights
from terrain.site.model import CrestPoint, Site
from terrain.site.read import read_site
from viewer.web.live.save import with_wish_written
from viewer.web.live.wish import wish_of_site

GRID = Grid(0.0, 0.0, 0.2, 81, 61)
TEXT = """[bed]
[berm]
crest = [
  { x = 5, y = 6, elevation = 20.53 }, # west
  [10, 6, 0.4],
]
max_slope = "4:1"
"""


def yard(*crest: CrestPoint) -> tuple[Site, Ground]:
    site = site_with(box(1.0, 1.0, 15.0, 11.0), [(5.0, 6.0, 0.5)], 0.25)
    falling = ground_on(GRID, 20.0 + 0.03 * GRID.x[None, :] - 0.02 * GRID.y[:, None])
    return (replace(site, berm=replace(site.berm, crest=crest)) if crest else site), falling


def test_an_elevation_builds_what_the_height_to_it_builds() -> None:
    heights, ground = yard(CrestPoint(5.0, 6.0, 0.5), CrestPoint(10.0, 6.0, 0.4))
    # the ground stands at 20.03 and 20.18 there
    levels, _ = yard(CrestPoint(5.0, 6.0, 0.0, 20.53), CrestPoint(10.0, 6.0, 0.0, 20.58))
    one, other = shape_berm(heights, ground), shape_berm(levels, ground)
    assert other.elevation == pytest.approx(one.elevation, abs=1e-9)
    assert [point.wished for point in other.crest] == pytest.approx([0.5, 0.4], abs=1e-9)
    top = float(GRID.sample(other.elevation, np.array([[5.0, 6.0]]))[0])
    assert top == pytest.approx(20.53, abs=0.01)


def test_points_by_elevation_and_by_height_may_stand_beside_each_other() -> None:
    site, ground = yard(CrestPoint(5.0, 6.0, 0.0, 20.53), CrestPoint(10.0, 6.0, 0.4))
    assert crest_heights(site, ground) == pytest.approx([0.5, 0.4], abs=1e-9)
    resolved = with_heights(site, ground)
    assert all(point.elevation is None for point in resolved.berm.crest)
    assert shape_berm(resolved, ground).elevation == pytest.approx(shape_berm(site, ground).elevation, abs=1e-9)


@pytest.mark.parametrize(("elevation", "words"), [(19.9, "is not above"), (20.0, "is not above"), (60.0, "far above")])
def test_an_elevation_that_no_mound_has_is_refused(elevation: float, words: str) -> None:
    with pytest.raises(InputError, match=rf"crest point 1: the elevation .*{words}.* the existing grade there, 20.03"):
        shape_berm(*yard(CrestPoint(5.0, 6.0, 0.0, elevation)))


def starter(folder: Path, root: Path, point: str) -> Path:
    """The metric starter with its middle crest point written another way."""
    shutil.copytree(root / "cli/starter/metres", folder / "yard")
    path = folder / "yard/site.toml"
    path.write_text(path.read_text(encoding="utf-8").replace('[7.80, 5.10, "55 cm"]', point), encoding="utf-8")
    return path


def test_a_site_file_may_give_either(root: Path, tmp_path: Path) -> None:
    site = read_site(starter(tmp_path, root, '{ x = 7.8, y = 5.1, elevation = "50.95 m" }'))
    assert site.berm.crest[1] == CrestPoint(7.8, 5.1, 0.0, 50.95)
    assert site.berm.crest[0].elevation is None


@pytest.mark.parametrize(
    "point",
    [
        "{ x = 7.8, y = 5.1, elevation = 50.95, height = 0.5 }",
        "{ x = 7.8, y = 5.1 }",
        "{ x = 7.8, y = 5.1, z = 50.95 }",
    ],
)
def test_neither_and_both_are_refused(point: str, root: Path, tmp_path: Path) -> None:
    with pytest.raises(
        InputError, match=r"crest point 2: .* is not a crest point.*or its elevation, such as \{ x = 18"
    ):
        read_site(starter(tmp_path, root, point))


def test_a_changed_wish_writes_heights_where_elevations_stood() -> None:
    """What is saved from a page reads back as the wish on the page, which knows heights only."""
    site, ground = yard(CrestPoint(5.0, 6.0, 0.0, 20.53), CrestPoint(10.0, 6.0, 0.4))
    before = wish_of_site(with_heights(site, ground))
    higher = replace(before, crest=(before.crest[0], replace(before.crest[1], height=0.45)))
    written = with_wish_written(TEXT, before, higher, "m")
    assert "elevation" not in written
    assert '[5.0, 6.0, "50 cm"], # west' in written
    assert '"45 cm"' in written
