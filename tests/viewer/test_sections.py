"""The sections are true to scale and say the slopes and heights that the ground has."""

from __future__ import annotations

from dataclasses import replace
from typing import Literal

import numpy as np
import pytest
from hypothesis import given, strategies as st
from scenario import yard
from shapely.geometry import LineString, Point

from terrain.papers import Scale, turned
from terrain.units import Units
from viewer.page.subject import SectionLine, Subject, section_lines, top_of_mound
from viewer.sheets import sections
from viewer.sheets.profile import Profile, profile_of, steepest_places
from viewer.sheets.section_axis import Axis
from viewer.sheets.section_shelves import LONG, SEEN, TALLEST, TIMES, Drawn, needed_height, section_paper, shelves


def subject(units: Literal["ft", "m"] = "ft") -> Subject:
    return Subject(*yard(units))


def profile(existing: np.ndarray, fill: np.ndarray, length: float) -> Profile:
    line = SectionLine("A", (0.0, 0.0), (length, 0.0))
    stations = np.linspace(0.0, length, existing.size)
    top = int(np.argmax(fill))
    peak = (float(stations[top]), float((existing + fill)[top]))
    return Profile(line, stations, existing, existing + fill, (), peak, float(fill[top]))


@given(st.floats(0.05, 0.4), st.floats(0.05, 0.4))
def test_the_steepest_place_of_a_straight_side_has_its_slope(left: float, right: float) -> None:
    stations = np.linspace(0.0, 10.0, 401)
    fill = np.maximum(np.minimum(left * (stations - 1.0), right * (9.0 - stations)), 0.0)
    found = steepest_places(profile(np.zeros(401), fill, 10.0))
    # The foot of run that the slope is taken over fits between toe and top on both sides.
    assert [slope for _, slope in found] == pytest.approx([left, -right], rel=1e-6)


def test_slopes_are_those_of_the_finished_ground_not_of_the_fill() -> None:
    stations = np.linspace(0.0, 10.0, 401)
    fill = np.maximum(np.minimum(0.2 * (stations - 1.0), 0.2 * (9.0 - stations)), 0.0)
    found = steepest_places(profile(0.05 * stations, fill, 10.0))
    assert [slope for _, slope in found] == pytest.approx([0.25, -0.15], rel=1e-6)


def test_the_profile_holds_the_top_of_the_mound() -> None:
    east, north, height = top_of_mound(subject().proposal)
    for section in section_lines(subject().site, subject().proposal):
        found = profile_of(subject(), section)
        assert found.height == height
        assert section.places(np.array([found.top[0]]))[0] == pytest.approx([east, north], abs=1e-9)
        # Samples lie half a cell apart, so the profile's own highest fill misses by little.
        assert found.fill.max() == pytest.approx(height, abs=0.004)


def test_a_keep_off_is_marked_over_the_chord_it_is_crossed_on() -> None:
    site = subject().site
    line = SectionLine(
        "A", (site.tree[0].at[0] - 4.0, site.tree[0].at[1]), (site.tree[0].at[0] + 4.0, site.tree[0].at[1])
    )
    ((start, end, name),) = profile_of(subject(), line).crossings
    assert name == "bur oak"
    # The circle is drawn with 192 sides: its chord falls short by under a millimetre.
    assert (start, end) == pytest.approx((4.0 - 5 * 0.3048, 4.0 + 5 * 0.3048), abs=1e-3)


@pytest.mark.parametrize("units", ["ft", "m"])
def test_both_axes_have_the_stated_scale(units: Literal["ft", "m"]) -> None:
    drawn = sections.sections_page(subject(units))
    profiles = [profile_of(subject(units), s) for s in section_lines(subject(units).site, subject(units).proposal)]
    paths = [
        path.vertices for group in drawn.axes.collections for path in group.get_paths() if len(path.vertices) > 100
    ]
    for found, scale in zip(profiles, section_paper(profiles, units)[1], strict=True):
        ratio = scale.ratio
        to_paper = 72.0 / 0.0254 / ratio
        wanted = np.column_stack([found.stations, found.existing]) * to_paper
        wanted -= wanted[0]
        drawn_so = [p for p in paths if len(p) == len(wanted)]
        miss = min(float(np.abs((p - p[0]) - wanted).max()) for p in drawn_so)
        assert miss < 1e-6, "no line on the page has the ground's own run and rise"


def test_fill_and_cut_are_where_the_profile_has_them() -> None:
    existing = np.column_stack([np.linspace(0, 100, 11), np.zeros(11)])
    proposed = existing + np.column_stack([np.zeros(11), [0, 0, 5, 9, 5, 0, 0, -4, -4, 0, 0]])
    change = proposed[:, 1]
    fill = sections.area_where(change > 1e-3, existing, proposed)
    cut = sections.area_where(change < -1e-3, existing, proposed)
    assert fill.area == pytest.approx(190.0, rel=1e-9)
    assert cut.area == pytest.approx(80.0, rel=1e-9)
    assert not fill.intersects(Point(75, -2))


def test_words_of_a_section_never_overlap_each_other_or_the_ground() -> None:
    for section in section_lines(subject().site, subject().proposal):
        found = profile_of(subject(), section)
        axis = Axis(72.0, 100.0, found.low - 0.3, 40.0)
        triangles, placed, calls = sections.words(Drawn(found, Scale(70.87, "")), axis, "ft", 792.0)
        assert len(placed) >= 5
        assert len(triangles) == 2
        assert {call.text.split()[0] for call in calls} == {"top", "toe"}
        surface = LineString(axis.points(found.stations, found.proposed))
        for k, item in enumerate(placed):
            assert not item.box.intersects(surface)
            assert not any(item.box.intersection(other.box).area > 1e-9 for other in placed[:k])


def test_a_yard_without_a_mound_still_gets_its_sections() -> None:
    site, ground, proposal, work = yard("ft")
    flat = replace(proposal, fill=np.zeros(ground.grid.shape), elevation=ground.elevation)
    page = sections.sections_page(Subject(site, ground, flat, work))
    assert len(page.axes.texts) > 10


def _higher(one: Drawn) -> float:
    """Points of paper for it where heights were drawn the next number of times; without end where there is none."""
    more = [times for times in TIMES if times > one.times]
    return replace(one, times=more[0]).size[1] if more else np.inf


@pytest.mark.parametrize("units", ["ft", "m"])
@pytest.mark.parametrize("long", [15.0, 30.0, 55.0, 120.0])
def test_a_long_bed_is_as_wide_as_the_paper_and_its_cross_section_is_no_speck(units: Units, long: float) -> None:
    """The long one takes the width that a round scale leaves; the other may have a larger scale; heights are seen."""
    along, across = np.linspace(0.0, long, 801), np.linspace(0.0, 4.0, 201)
    profiles = [
        profile(0.01 * along, 0.4 * np.sin(np.pi * np.clip((along - 2.0) / (long - 4.0), 0.0, 1.0)), long),
        profile(0.02 * across, np.maximum(0.4 - 0.3 * np.abs(across - 2.0), 0.0), 4.0),
    ]
    name, each = section_paper(profiles, units)
    wide, high = turned(name)
    rows = shelves(profiles, each, wide)
    assert needed_height(rows) <= high
    (first, second, last) = [one for shelf in rows for one in shelf]
    assert max(one.size[0] for one in (first, second)) >= wide / 3.0
    assert second.profile.section.length * second.scale.points >= wide / 8.0
    assert (each[0] == each[1]) or long > LONG * 4.0
    assert last.times in TIMES
    assert last.name.endswith(f"heights drawn {last.times:g} times")
    assert last.times * 0.4 * last.scale.points >= SEEN or _higher(last) > TALLEST
    for one in (first, second, last):
        axis = Axis(72.0, 100.0, one.profile.low - 0.3, one.scale.points, one.times)
        _, placed, calls = sections.words(one, axis, units, wide)
        told = {item.label.text for item in placed}
        assert {call.text for call in calls} <= told, "the top and both toes have their names"
        assert sum(call.text.startswith("toe") for call in calls) == 2
