"""Where eyes stand on odd yards: outside trunks and walls, with the mound and the staff in the frame, or told."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pytest
from odd_yards import odd_yard
from shapely.geometry import Point

from terrain.errors import InputError
from terrain.flow import run_site
from viewer.page.subject import Subject, subject_of
from viewer.pictures.eye_camera import EyeView, eye_view, staff_place
from viewer.pictures.eye_level import left_out
from viewer.pictures.standpoints import Standpoint, standpoints, stands_in
from viewer.pictures.yard_stage import staff_size

pytestmark = pytest.mark.slow
YARDS = 40


def odd_views(most: int) -> Iterator[tuple[int, Subject, Standpoint, EyeView]]:
    """Every place to look from on so many yards that can be built."""
    seed = built = 0
    while built < most:
        seed += 1
        try:
            subject = subject_of(run_site(odd_yard(seed).site(), resolution=0.4))
        except InputError:
            continue
        built += 1
        for stand in standpoints(subject.site, subject.ground):
            yield seed, subject, stand, eye_view(subject, stand, 600)


def test_eyes_stand_where_a_person_can_and_see_the_mound_and_the_staff() -> None:
    seen, told_of, faults = 0, 0, []
    for seed, subject, stand, view in odd_views(YARDS):
        here, what, told = Point(stand.at), f"{seed} {stand.name}", " ".join(left_out(subject, stand, view))
        if any(here.distance(Point(tree.at)) < max(tree.flare, tree.trunk / 2.0) for tree in subject.site.tree):
            faults.append(f"{what}: in a trunk")
        if any(stands_in(stand, house.outline) for house in subject.site.building) and "inside walls" not in told:
            faults.append(f"{what}: in a wall")
        edge = np.array(subject.site.bed.outline.exterior.segmentize(0.25).coords)[:, :2]
        level = subject.ground.grid.sample(subject.ground.elevation, edge)
        if within(view, np.column_stack([edge, level])).mean() < 0.8 and "outside the frame" not in told:
            faults.append(f"{what}: the bed is cut off")
        at = staff_place(subject, view)
        step, count = staff_size(subject.site.units)
        foot = float(subject.ground.grid.sample(subject.proposal.elevation, np.array([at]))[0])
        whole = bool(within(view, np.array([[*at, foot], [*at, foot + step * count]])).all())
        if not whole and "no whole staff" not in told:
            faults.append(f"{what}: the staff is cut off")
        seen, told_of = seen + 1, told_of + (not whole)
    assert faults == []
    assert seen > 60
    assert told_of < 0.05 * seen


def within(view: EyeView, points: np.ndarray) -> np.ndarray:
    """Which survey points (n, 3) lie in the frame."""
    spots, depth = view.project(points)
    return np.asarray((depth > 0.0) & (spots >= 0.0).all(axis=1) & (spots <= np.array(view.size)).all(axis=1))
