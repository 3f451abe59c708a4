"""The set-out: what is written on the sheet, taped again, must give the stake back."""

from __future__ import annotations

import csv
import math
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
import shapely
import shipped
from hypothesis import assume, given, strategies as st
from shapely.geometry import LineString, Point, Polygon, box

from terrain.errors import InputError
from terrain.field.setout import words
from terrain.field.setout.chains import tape_all
from terrain.field.setout.known import known_points
from terrain.field.setout.level import asked_level
from terrain.field.setout.model import Known, Level, SetOut, Spot
from terrain.field.setout.pairs import FAIR, choose_pairs
from terrain.field.setout.set_out import obstacles, set_out, string_line
from terrain.field.setout.table import known_csv, set_out_csv, set_out_plain
from terrain.flow import Study
from terrain.survey.offsets import Offset, place_offset, read_offsets
from terrain.survey.points import point_key
from terrain.survey.tapes import side_of, two_tapes
from terrain.survey.ties import place_tie, read_ties
from terrain.units import parse_length

ROOT = Path(__file__).resolve().parents[2]
YARDS = ("alder-bend", "larkspur-rise")
FT = 0.3048


def study_of(yard: str) -> Study:
    return shipped.study_of(yard, 0.25)  # coarser than the examples' own: nothing here needs it


@cache
def staked(yard: str) -> SetOut:
    return set_out(study_of(yard))


@pytest.mark.parametrize("yard", YARDS)
def test_the_written_table_is_a_table_of_tape_ties_that_gives_every_stake_back(yard: str, tmp_path: Path) -> None:
    stakes, units = staked(yard), study_of(yard).site.units
    path = tmp_path / "setout.csv"
    path.write_text(set_out_csv(stakes, units), encoding="utf-8")
    known = {point_key(point.name): point.at for point in stakes.known}
    ties = read_ties(path, "setout.csv", units)
    assert len(ties) == len(stakes.stakes)
    half = words.STEP[units] / 2.0
    for tie, stake in zip(ties, stakes.stakes, strict=True):
        found = place_tie(tie, known, units).placed.at
        # First order: the stake moves by at most dilution times the length of the two slips; a tenth for the second.
        assert math.dist(found, stake.at) <= 1.1 * stake.tapes.dilution * math.sqrt(2.0) * half
        assert math.dist(found, stake.at) <= 1.1 * words.worst_slip(stakes, units)


@pytest.mark.parametrize("yard", YARDS)
def test_station_and_offset_give_every_stake_back(yard: str) -> None:
    stakes = staked(yard)
    start, end = stakes.baseline
    for stake in stakes.stakes:
        placed = place_offset(Offset(stake.name, "", stake.station, stake.offset), start.at, end.at)
        assert placed.at == pytest.approx(stake.at, abs=1e-9)


def test_written_stations_and_offsets_read_back(tmp_path: Path) -> None:
    stakes, units = staked("alder-bend"), "ft"
    rows = [
        f"{s.name},{words.show_tape(s.station, units)},{words.offset_words(s.offset, units)}" for s in stakes.stakes
    ]
    path = tmp_path / "offsets.csv"
    path.write_text("\n".join(["point,station,offset", *rows]), encoding="utf-8")
    start, end = stakes.baseline
    for offset, stake in zip(read_offsets(path, "offsets.csv", "ft"), stakes.stakes, strict=True):
        # Each is rounded to a quarter of an inch, so that the place is within half of its diagonal.
        assert math.dist(place_offset(offset, start.at, end.at).at, stake.at) <= words.QUARTER / math.sqrt(2.0) + 1e-9


@pytest.mark.parametrize("yard", YARDS)
def test_tapes_cross_well_run_free_and_start_from_readily_found_points(yard: str) -> None:
    stakes, site = staked(yard), study_of(yard).site
    across = obstacles(site)
    for stake in stakes.stakes:
        assert stake.tapes.dilution <= FAIR
        assert stake.tapes.clear
        for known in (stake.tapes.start, stake.tapes.end):
            assert not across.intersects(LineString([known.at, stake.at]))
    assert not across.intersects(LineString([known.at for known in stakes.baseline]))
    assert len(stakes.known) <= 8


@pytest.mark.parametrize("yard", YARDS)
def test_no_soil_at_the_foot_and_the_wish_at_crest_points(yard: str) -> None:
    study = study_of(yard)
    by_place = {built.at: built.built for built in study.proposal.crest}
    for stake in staked(yard).stakes:
        if stake.what == "foot" or "rim" in stake.what:
            assert stake.fill <= 1e-3, stake.name  # a centimetre outside a keep-off
        if stake.at in by_place:
            assert stake.fill == pytest.approx(by_place[stake.at], abs=0.01)
        factor = study.work.day_one_factor if stake.fill > 0.0 else 1.0
        assert stake.build == pytest.approx(factor * stake.fill, abs=1e-9)
        assert stake.finished - stake.fill == pytest.approx(stake.existing, abs=1e-12)
    assert {stake.at for stake in staked(yard).stakes} >= set(by_place)


# Exact triangles of whole numbers (not published): from A (0, 0) and B (50, 0) the tapes 30 and 40 meet at (18, 24).
def test_the_tapes_of_a_known_triangle_are_its_sides() -> None:
    known = [Known("A", (0.0, 0.0)), Known("B", (50.0, 0.0))]
    (tapes,) = choose_pairs(known, np.array([[18.0, 24.0]]), Polygon())
    assert (tapes.from_start, tapes.from_end, tapes.left) == (pytest.approx(30.0), pytest.approx(40.0), True)
    assert tapes.dilution == pytest.approx(1.0, abs=1e-9)  # the tapes cross square: 3-4-5
    (other,) = choose_pairs(known, np.array([[18.0, -24.0]]), Polygon())
    assert not other.left


@given(st.floats(-0.9, 0.9), st.floats(0.3, 1.2), st.floats(-1.0, 1.0), st.floats(-1.0, 1.0))
def test_dilution_bounds_how_far_a_slip_of_the_tapes_moves_a_stake(
    share: float, high: float, slip_a: float, slip_b: float
) -> None:
    a, b, at = (-10.0, 0.0), (10.0, 0.0), (10.0 * share, 10.0 * high)
    (tapes,) = choose_pairs([Known("a", a), Known("b", b)], np.array([at]), Polygon())
    small = 1e-4
    moved = two_tapes(a, b, tapes.from_start + small * slip_a, tapes.from_end + small * slip_b)
    assume(moved is not None)
    assert moved is not None
    assert math.dist(moved[0], at) <= small * tapes.dilution * math.hypot(slip_a, slip_b) * 1.01 + 1e-9


def test_a_tape_never_crosses_a_house() -> None:
    house = box(4, 4, 6, 6)
    known = [Known("a", (0.0, 0.0)), Known("b", (10.0, 0.0)), Known("c", (0.0, 10.0)), Known("d", (10.0, 10.0))]
    (tapes,) = choose_pairs(known, np.array([[7.0, 7.5]]), house)
    assert {tapes.start.name, tapes.end.name} == {"c", "d"} or "a" not in {tapes.start.name, tapes.end.name}
    assert tapes.clear


def test_points_in_a_line_with_the_stake_are_refused() -> None:
    known = [Known("a", (0.0, 0.0)), Known("b", (10.0, 0.0))]
    with pytest.raises(InputError, match="cross too flat"):
        choose_pairs(known, np.array([[5.0, 0.05]]), Polygon())
    with pytest.raises(InputError, match="no two known points"):
        choose_pairs(known[:1], np.array([[5.0, 0.05]]), Polygon())


def test_a_stake_that_known_points_place_badly_is_taped_from_another_stake() -> None:
    known = [Known("a", (0.0, 0.0)), Known("b", (10.0, 0.0))]
    spots = [Spot("S1", "", (5.0, 4.0)), Spot("S2", "", (5.0, 0.05))]
    first, second = tape_all(known, spots, Polygon())
    assert {first.start.name, first.end.name} == {"a", "b"}
    assert "S1" in {second.start.name, second.end.name}
    # The tapes to S2 cross nearly square; the slip of S1 is taken in on top.
    assert second.dilution == pytest.approx(1.0 + math.sqrt(2.0) * first.dilution, rel=0.02)


@given(st.floats(1.0, 9.0), st.floats(2.0, 6.0), st.lists(st.floats(-1.0, 1.0), min_size=4, max_size=4))
def test_dilution_bounds_the_slips_of_a_chain_too(along: float, high: float, slips: list[float]) -> None:
    known = [Known("a", (0.0, 0.0)), Known("b", (10.0, 0.0))]
    spots = [Spot("S1", "", (along, high)), Spot("S2", "", (5.0, 0.02))]
    first, second = tape_all(known, spots, Polygon())
    assume(second.start.name == "a" and second.end.name == "S1")
    small = 1e-4
    one = two_tapes((0.0, 0.0), (10.0, 0.0), first.from_start + small * slips[0], first.from_end + small * slips[1])
    assert one is not None
    moved = two_tapes((0.0, 0.0), one[0], second.from_start + small * slips[2], second.from_end + small * slips[3])
    assume(moved is not None)
    assert moved is not None
    away = min(math.dist(at, (5.0, 0.02)) for at in moved)
    assert away <= 1.02 * second.dilution * math.sqrt(2.0) * small + 1e-7


def test_the_baseline_avoids_the_house() -> None:
    known = [Known("a", (0.0, 0.0)), Known("b", (10.0, 0.0)), Known("c", (0.0, -10.0))]
    tapes = choose_pairs(known[:2], np.array([[5.0, 5.0]]), Polygon())
    more = choose_pairs(known[1:], np.array([[1.0, -1.0]]), Polygon())
    start, end = string_line([*tapes, *tapes, *more], box(4, -1, 5, 1), Polygon())
    assert (start.name, end.name) == ("b", "c")


def test_corners_are_named_by_the_wind_and_each_point_is_named_once() -> None:
    known = known_points(study_of("alder-bend").site)
    names = [point.name for point in known]
    assert {"house SW", "house SE", "house NE", "house NW"} <= set(names)
    assert len(names) == len(set(names))
    south_east = next(point for point in known if point.name == "house SE")
    assert south_east.at == pytest.approx((30.0 * FT, 45.0 * FT), abs=1e-9)


@given(st.floats(0.0, 60.0))
def test_a_tape_in_feet_is_written_to_the_quarter_inch_and_reads_back(metres: float) -> None:
    assert abs(parse_length(words.show_tape(metres, "ft"), "ft", "") - metres) <= words.QUARTER / 2.0 + 1e-9
    assert abs(parse_length(words.show_tape(metres, "m"), "m", "") - metres) <= 0.005 + 1e-9


@pytest.mark.parametrize(
    ("inches", "text"),
    [(0.0, "0 ft"), (0.25, "1/4 in"), (11.9, "1 ft"), (378.25, "31 ft 6 1/4 in"), (-6.5, "-6 1/2 in"), (24.0, "2 ft")],
)
def test_tape_words(inches: float, text: str) -> None:
    assert words.show_tape(inches * 0.0254, "ft") == text


# Height of instrument = benchmark + backsight; grade rod = height of instrument - grade. The worked grades are our own.
def test_rod_readings_are_taken_off_the_height_of_instrument() -> None:
    site = study_of("alder-bend").site
    elevation = float(site.survey.shots[site.survey.names.index("18"), 2])
    level = asked_level(site, None, "18", "4.32")
    assert level is not None
    assert level.instrument == pytest.approx(elevation + 4.32 * FT, abs=1e-12)
    assert level.rod(elevation) == pytest.approx(4.32 * FT, abs=1e-12)
    assert level.rod(level.instrument + 0.1) is None
    stated = asked_level(site, "104.57", None, None)
    assert stated is not None
    assert stated.instrument == pytest.approx(104.57 * FT, abs=1e-12)


@pytest.mark.parametrize(
    ("instrument", "mark", "backsight", "said"),
    [
        ("104", "18", None, "Give one of the two"),
        (None, "18", None, "one of the two is missing"),
        (None, "no such", "4", "no shot of the survey"),
        (None, "18", "-4", "no rod reading"),
        (None, "18", "tall", "not a length"),
        ("high", None, None, "not a length"),
        ("4.32", None, None, r"--instrument: the line of sight at 4\.32 ft meets no rod on ground of 99\.\d+ ft to 10"),
        ("300", None, None, "meets no rod"),
        (None, "1.5", "4", "--benchmark: the line of sight at 5.50 ft meets no rod"),
    ],
)
def test_a_level_that_cannot_be_is_refused(
    instrument: str | None, mark: str | None, backsight: str | None, said: str
) -> None:
    with pytest.raises(InputError, match=said):
        asked_level(study_of("alder-bend").site, instrument, mark, backsight)


def test_the_table_carries_rod_readings_only_with_a_level() -> None:
    stakes = staked("alder-bend")
    assert "rod" not in set_out_csv(stakes, "ft")
    levelled = replace(stakes, level=Level(31.0, "as stated"))
    table = set_out_csv(levelled, "ft")
    assert "rod finished (ft)" in table
    known = list(csv.DictReader(known_csv(levelled, "ft").splitlines()))
    assert [row["point"] for row in known] == [*(point.name for point in stakes.known), "instrument"]
    assert [row["use"] for row in known].count("start of the baseline") == 1
    assert float(known[-1]["elevation (ft)"]) == pytest.approx(31.0 / FT, abs=1e-3)
    assert [float(row["easting (ft)"]) * FT for row in known[:-1]] == pytest.approx(
        [point.at[0] for point in stakes.known], abs=2e-4
    )
    top = max(levelled.stakes, key=lambda stake: stake.finished)
    assert words.rod_words(levelled, top.finished, "ft") in ("above", f"{(31.0 - top.finished) / FT:.2f}")
    assert set_out_plain(levelled)["instrument_m"] == 31.0


@pytest.mark.parametrize("spacing", [0.1, 40.0])
def test_a_spacing_out_of_range_is_refused(spacing: float) -> None:
    with pytest.raises(InputError, match="out of range"):
        set_out(study_of("alder-bend"), spacing)


def test_sides_are_those_of_the_line_between_the_points() -> None:
    for stake in staked("alder-bend").stakes:
        off = side_of(stake.tapes.start.at, stake.tapes.end.at, stake.at)
        assert (off > 0.0) == stake.tapes.left
        assert words.side_words(stake.tapes).startswith("left" if off > 0.0 else "right")
    assert shapely.union_all([Point(stake.at) for stake in staked("alder-bend").stakes]).geom_type == "MultiPoint"
