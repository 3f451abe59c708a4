"""What somebody sees from a place: true heights, the ground where it is, the same frame before and after."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from random_sites import ground_on, site_with
from scenario import yard
from shapely.geometry import Point, Polygon

from terrain.grid import Grid
from terrain.shape.berm import shape_berm
from terrain.site.model import Building, Tree, ViewFrom
from viewer.page.subject import Subject
from viewer.pictures.eye_camera import EyeView, eye_view, share_left_out, staff_place
from viewer.pictures.eye_level import draw_eye_level, eye_page, left_out
from viewer.pictures.eye_picture import eye_picture
from viewer.pictures.skyline import skyline_of
from viewer.pictures.standpoints import Standpoint, bed_places, clear_of, standpoints
from viewer.pictures.yard_stage import yard_model

GRID = Grid(0.0, 0.0, 0.1, 301, 301)
DISC = Point(15.0, 15.0).buffer(4.0)
SOUTH = Standpoint("street", (15.0, 3.0), 1.6)


def subject(height: float = 0.6, slope: float = 0.25, toe: float | None = None, **changes: object) -> Subject:
    ground = ground_on(GRID, np.full(GRID.shape, 50.0))
    site = replace(site_with(DISC, [(15.0, 15.0, height)], slope, toe=toe), **changes)
    proposal = shape_berm(site, ground)
    return Subject(site, ground, proposal, None)  # type: ignore[arg-type]


def depth_of(seen: Subject, view: EyeView, built: bool) -> np.ndarray:
    """(rows, columns) metres along the line of sight to what shows, inf for the sky."""
    return np.asarray(eye_picture(seen, view, built).depth)


def test_level_ground_lies_where_similar_triangles_put_it() -> None:
    """Depth of the ground at a row that lies r pixels under the horizon: focal length times eye height over r."""
    seen = subject()
    view = eye_view(seen, SOUTH, 400)
    depth = depth_of(seen, view, False)
    rows = np.arange(view.top, view.bottom)
    low = rows > view.focal * 1.6 / 100.0
    # The farthest of four samples in a pixel, an eighth of it down; the staff stands before the ground at one place.
    column = np.median(depth[low], axis=1)
    assert column == pytest.approx(view.focal * 1.6 / (rows[low] + 0.125), rel=1e-4)
    assert np.isinf(np.median(depth[rows < -1.0], axis=1)).all()


def test_heights_and_widths_share_one_scale() -> None:
    seen = subject()
    view = eye_view(seen, SOUTH, 1000)
    corners = np.array([[14.0, 15.0, 50.0], [15.0, 15.0, 50.0], [14.0, 15.0, 51.0]])
    (left, right, up), _ = view.project(corners)
    assert abs(right[0] - left[0]) == pytest.approx(abs(left[1] - up[1]), rel=1e-9)
    assert up[0] == pytest.approx(left[0], abs=1e-9), "uprights stay upright"


def test_the_mound_hides_the_ground_behind_it_and_stands_at_its_height() -> None:
    high = subject(2.4, slope=1.0, toe=0.0)
    view = eye_view(high, SOUTH, 400)
    top = float(high.proposal.fill.max())
    assert top > 2.0
    nearer = depth_of(high, view, True) < depth_of(high, view, False) - 0.5
    row = view.top + int(np.flatnonzero(nearer.any(axis=1))[0])
    # The silhouette of a cone about the top, seen from 12 m: its highest line of sight passes the top.
    assert row == pytest.approx(view.focal * (1.6 - top) / 12.0, abs=0.03 * view.focal * top / 12.0)


def test_before_and_after_share_a_frame_and_differ_on_the_mound_only() -> None:
    seen = subject()
    view = eye_view(seen, SOUTH, 300)
    before, after = (eye_picture(seen, view, built).pixels.astype(int) for built in (False, True))
    changed = np.abs(after - before).max(axis=2) > 12
    assert before.shape == after.shape == (view.size[1], 300, 3)
    assert 0.03 < changed.mean() < 0.6
    # Nothing changes to the left of the bed or above the horizon.
    spots, _ = view.project(
        np.column_stack([*np.array(DISC.exterior.coords).T, np.full(len(DISC.exterior.coords), 50)])
    )
    assert not changed[:, : int(spots[:, 0].min()) - 3].any()
    assert not changed[: max(-view.top - 2, 0)].any()


def test_the_skyline_gives_the_top_its_height_at_its_distance() -> None:
    """By the line of sight that just passes the top; carried to the bed's middle, where the top stands."""
    seen = subject(0.8)
    line = skyline_of(seen, SOUTH)
    assert line.distance == pytest.approx(12.0, abs=1e-6)
    top = float(seen.proposal.fill.max())
    middle = len(line.across) // 2
    # Ground falls away slower behind the top than the line of sight, so the highest sight is at or just past it.
    assert line.after[middle] == pytest.approx(top - 1.6, abs=0.12)
    assert line.after[middle] >= top - 1.6 - 1e-3
    assert line.before[middle] == pytest.approx(-1.6 * 12.0 / 16.0, abs=0.02)
    assert np.nanmin(line.foot) == pytest.approx(-1.6 * 12.0 / 8.0, abs=0.3)


def test_places_named_in_the_site_file_are_used_as_they_are() -> None:
    views = (ViewFrom("kitchen window", (15.0, 2.0), 2.1), ViewFrom("gate", (28.0, 15.0)))
    found = standpoints(subject(view_from=views).site, subject().ground)
    assert [(one.name, one.at, one.eye, one.invented) for one in found] == [
        ("kitchen window", (15.0, 2.0), 2.1, False),
        ("gate", (28.0, 15.0), 1.6, False),
    ]


def test_invented_places_stand_on_both_sides_and_are_said_to_be_invented(tmp_path: Path) -> None:
    house = Building("house", Polygon([(10, 22), (20, 22), (20, 28), (10, 28)]), 50.4)
    seen = subject(building=(house,))
    window, street, path = standpoints(seen.site, seen.ground)
    assert window.name == "house window"
    assert window.at[1] == pytest.approx(22.0)
    assert window.eye == pytest.approx(0.4 + 1.5)
    assert street.at[1] < 11.0 - 5.9, "the street lies on the side away from the house"
    assert DISC.distance(Point(path.at)) >= 3.0
    models = yard_model(seen, False), yard_model(seen, True)
    texts = [text.get_text() for text in eye_page(seen, street, models).axes.texts]
    assert any("invented" in text for text in texts)


def test_a_window_is_chosen_from_which_no_trunk_stands_before_the_bed() -> None:
    house = Building("house", Polygon([(12, 20), (18, 20), (18, 26), (12, 26)]), 50.4)
    tree = Tree("oak", (15.0, 19.6), 0.8, 0.5, 0.6)
    chosen = standpoints(subject(building=(house,), tree=(tree,)).site, subject().ground)[0]
    sight = np.array([15.0, 15.0]) - np.array(chosen.at)
    east, north = np.array(tree.at) - np.array(chosen.at)
    assert abs(sight[0] * north - sight[1] * east) / np.hypot(*sight) > 0.4


@pytest.mark.parametrize("at", [(15.0, 15.0), (15.0, 11.2), (15.0, -60.0)], ids=["on top", "at the foot", "far off"])
def test_a_picture_can_be_drawn_from_anywhere(at: tuple[float, float]) -> None:
    seen = subject(view_from=(ViewFrom("here", at),))
    view = eye_view(seen, standpoints(seen.site, seen.ground)[0], 200)
    picture = eye_picture(seen, view, True).pixels
    assert picture.shape == (view.size[1], 200, 3)
    assert 0.15 * 200 <= view.size[1] <= 0.62 * 200


def test_invented_places_stand_outside_trunks_and_walls_where_the_bed_is_seen() -> None:
    trees = tuple(Tree(f"t{k}", (14.0 + 0.5 * k, 5.0), 0.4, 0.3, 0.6) for k in range(5))
    shed = Building("shed", Polygon([(11, 3), (19, 3), (19, 4.6), (11, 4.6)]), 50.2)
    seen = subject(building=(Building("house", Polygon([(10, 22), (20, 22), (20, 28), (10, 28)])), shed), tree=trees)
    for stand in standpoints(seen.site, seen.ground)[1:]:
        assert all(Point(tree.at).distance(Point(stand.at)) > tree.flare + 0.3 for tree in trees)
        assert all(house.outline.distance(Point(stand.at)) > 0.3 for house in seen.site.building)
    street = standpoints(seen.site, seen.ground)[1]
    blocked = clear_of(seen.site, (15.0, 2.0), bed_places(DISC))
    assert clear_of(seen.site, street.at, bed_places(DISC)) > blocked


@pytest.mark.parametrize("at", [(15.0, 3.0), (24.0, 22.0), (15.0, 10.0)])
def test_the_staff_stands_whole_in_the_frame(at: tuple[float, float]) -> None:
    seen = subject()
    view = eye_view(seen, Standpoint("here", at, 1.6), 600)
    place = staff_place(seen, view)
    spots, depth = view.project(np.array([(*place, 50.0), (*place, 50.0 + 2.0)]))
    assert (depth > 0.0).all()
    assert (spots[:, 1] >= 0.0).all()
    assert spots[0, 1] <= view.size[1] or view.size[1] == round(0.6 * 600)
    assert ((spots[:, 0] > 0.0) & (spots[:, 0] < 600.0)).all()


def test_what_of_the_bed_lies_outside_the_frame_is_told() -> None:
    seen = subject()
    far, near = SOUTH, Standpoint("here", (15.0, 10.5), 1.6)
    assert share_left_out(seen, eye_view(seen, far, 300)) == 0.0
    assert left_out(seen, far, eye_view(seen, far, 300)) == []
    view = eye_view(seen, near, 300)
    assert share_left_out(seen, view) > 0.05
    assert "outside the frame" in left_out(seen, near, view)[0]


def test_every_place_gets_its_own_file(tmp_path: Path) -> None:
    site, ground, proposal, work = yard("ft")
    views = (ViewFrom("Gate", (0.0, 0.0)), ViewFrom("gate!", (1.0, 0.0)))
    paths = draw_eye_level(Subject(replace(site, view_from=views), ground, proposal, work), tmp_path)
    assert [path.name for path in paths] == ["eye_gate.png", "eye_gate_2.png"]
