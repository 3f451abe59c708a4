"""The as-built check: yards built exactly, low, as a cone, and against a trunk, each with its known answer."""

from __future__ import annotations

import csv
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from examples_drawn import drawn
from hypothesis import given, settings, strategies as st
from shapely.geometry import Polygon
from shipped import study_of

from terrain.errors import InputError
from terrain.field.asbuilt.as_built import check_as_built
from terrain.field.asbuilt.model import AsBuilt, BuiltShots, Stage
from terrain.field.asbuilt.shots import read_built
from terrain.field.asbuilt.surface import BY_DIFFERENCES
from terrain.field.asbuilt.table import as_built_csv, as_built_plain
from terrain.field.asbuilt.words import off_number, off_words
from terrain.field.setout.set_out import grades
from terrain.flow import Study
from terrain.ground.existing import points_over
from terrain.units import show_volume

ROOT = Path(__file__).resolve().parents[2]
INCH = 0.0254


def study() -> Study:
    return study_of("alder-bend", 0.25)  # coarser than the example's own: nothing here needs it


@cache
def graded() -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Existing, finished and day-one grade at the places."""
    return grades(study(), places())


@cache
def places() -> np.ndarray:
    """Shots all over the bed and along its line, beside it, and in the keep-off of the oak."""
    outline = study().site.bed.outline
    edge = [outline.exterior.interpolate(share, normalized=True) for share in np.linspace(0.0, 1.0, 25)[:-1]]
    inner = outline.buffer(-0.02)
    rim = [inner.exterior.interpolate(inner.exterior.project(spot)) for spot in edge]
    beside = np.array([[20.0, 20.0], [64.0, 10.0], [30.0, 2.0], [62.0, 35.0]]) * 0.3048
    oak = np.array(study().site.tree[0].at)
    near = oak + np.array([[1.0, 0.0], [0.0, 1.2], [-1.5, 0.0]])
    return np.vstack([points_over(outline, 60), [(spot.x, spot.y) for spot in rim], beside, near])


def shots(heights: np.ndarray, at: np.ndarray | None = None) -> BuiltShots:
    plan = places() if at is None else at
    names = tuple(f"B{k}" for k in range(len(plan)))
    return BuiltShots(np.column_stack([plan, heights]), names, ("",) * len(plan), "asbuilt.csv")


def on_mound() -> np.ndarray:
    _, finished, day_one = graded()
    worked = study().proposal.worked
    from shapely import contains_xy

    return np.asarray(contains_xy(worked, *places().T)) & (finished <= day_one)


def heights_of(stage: Stage) -> np.ndarray:
    return graded()[2 if stage == "day one" else 1]


@cache
def built_exactly(stage: Stage = "day one") -> AsBuilt:
    return check_as_built(study(), shots(heights_of(stage)), stage)


@cache
def two_inches_low() -> AsBuilt:
    return check_as_built(study(), shots(heights_of("day one") - 2.0 * INCH * on_mound()))


@pytest.mark.parametrize("stage", ["day one", "settled"])
def test_a_yard_built_exactly_misses_nothing(stage: Stage) -> None:
    check = built_exactly(stage)
    assert check.missing.missing == pytest.approx(0.0, abs=1e-6)
    assert check.missing.surplus == pytest.approx(0.0, abs=1e-6)
    assert {shot.verdict for shot in check.shots} <= {"within", "clear"}
    assert not check.stopped
    assert check.steepest == pytest.approx(study().proposal.steepest, abs=2e-3)
    assert check.top == pytest.approx(check.planned_top, abs=1e-6)
    assert check.covered > 0.97


def test_a_yard_two_inches_low_misses_two_inches_over_its_ground() -> None:
    check = two_inches_low()
    assert check.method == BY_DIFFERENCES
    # Closed form: area of the ground that takes soil times the depth.
    whole = study().proposal.worked.area * 2.0 * INCH
    assert check.missing.missing == pytest.approx(whole, rel=1e-3)
    assert check.missing.low <= whole <= check.missing.high
    soil = study().site.soil
    assert check.missing.loose == pytest.approx(whole * (1.0 + soil.swell) / (1.0 - soil.shrink), rel=1e-3)
    low = [shot for shot in check.shots if shot.where == "mound"]
    assert all(shot.verdict == "low" for shot in low)
    assert all(shot.over_day_one == pytest.approx(-2.0 * INCH, abs=1e-9) for shot in low)
    assert any(f.level == "caution" and "An even layer of 2 in is missing" in f.text for f in check.findings)


@pytest.mark.slow
@settings(max_examples=drawn(6))
@given(st.floats(0.02, 0.06), st.floats(-0.01, 0.01), st.floats(-0.01, 0.01))
def test_an_even_or_tilted_slip_is_found_as_it_is(level: float, east: float, north: float) -> None:
    middle = np.array(study().site.bed.outline.centroid.coords[0])
    off = level + (places() - middle) @ np.array([east, north])
    check = check_as_built(study(), shots(heights_of("day one") + off * on_mound()))
    # The drift of the kriging is linear, so that a plane comes back exactly; net is its integral over the mound.
    worked = study().proposal.worked
    centre = np.array(worked.centroid.coords[0]) - middle
    net = -(level + centre @ np.array([east, north])) * worked.area
    # What is off by less than a shot's own noise is not told: at most a sixth of the mound, where the tilt crosses.
    hidden = study().site.survey.accuracy * worked.area / 6.0
    assert check.missing.net == pytest.approx(net, abs=hidden)


def test_missing_less_surplus_lies_in_its_range_for_an_uneven_yard() -> None:
    rng = np.random.default_rng(11)
    heights = heights_of("day one") + rng.normal(0.0, 0.01, len(places())) * on_mound()
    check = check_as_built(study(), shots(heights))
    assert check.missing.low <= check.missing.missing <= check.missing.high
    assert check.missing.missing < 0.01 * study().proposal.worked.area
    assert not check.stopped


def test_a_volcano_in_place_of_the_berm_breaks_the_slope_limit_and_lacks_soil() -> None:
    existing = grades(study(), places())[0]
    top = study().proposal.crest[1].at
    away = np.hypot(*(places() - np.array(top)).T)
    cone = np.maximum(0.0, 1.0 - 0.5 * away)
    check = check_as_built(study(), shots(existing + cone * on_mound()))
    assert check.stopped
    assert any(f.level == "stop" and f.topic == "slopes" for f in check.findings)
    # The cone's sides fall 1:2, and settle by the day-one factor.
    assert check.steepest > 0.35
    assert check.missing.missing > check.missing.surplus


def test_soil_heaped_against_the_trunk_is_a_stop() -> None:
    heights = heights_of("day one")
    oak = np.array(study().site.tree[0].at)
    away = np.hypot(*(places() - oak).T)
    heaped = heights + np.maximum(0.0, 0.4 - 0.25 * away)
    check = check_as_built(study(), shots(heaped))
    assert check.stopped
    (stop,) = [f for f in check.findings if f.level == "stop"]
    assert stop.topic == "trees"
    assert "bur oak" in stop.text
    assert stop.value == pytest.approx(0.4 - 0.25 * 1.0, abs=1e-6)


def test_a_keep_off_without_a_shot_is_said_to_be_unchecked() -> None:
    oak = study().site.tree[0]
    keep = np.hypot(*(places() - np.array(oak.at)).T) > oak.keep_off + 0.02
    check = check_as_built(study(), shots(heights_of("day one")[keep], places()[keep]))
    assert any("not checked" in f.text and f.level == "caution" for f in check.findings)


def test_a_slip_in_the_benchmark_shows_on_untouched_ground() -> None:
    check = check_as_built(study(), shots(heights_of("day one") + 0.12))
    assert any("check the benchmark" in f.text for f in check.findings)
    assert not any("check the benchmark" in f.text for f in built_exactly().findings)


@pytest.mark.parametrize(
    "slip", [-0.12, 0.05, *(pytest.param(other, marks=pytest.mark.slow) for other in (-0.05, 0.3))]
)
def test_a_slip_is_the_first_cause_and_nothing_that_follows_from_it_is_a_fault(slip: float) -> None:
    true = built_exactly()
    check = check_as_built(study(), shots(heights_of("day one") + slip))
    assert check.slip == pytest.approx(slip, abs=0.015)  # the survey tells untouched ground to about a centimetre
    assert "benchmark" in check.findings[0].text
    # Built exactly: what is missing is what the doubt in the slip leaves, not a slip over the whole mound.
    assert check.missing.missing <= true.missing.missing + 0.015 * study().proposal.worked.area
    assert not check.stopped
    assert [f.text for f in check.findings if "off the day one grade" in f.text] == []
    assert true.slip == 0.0


@pytest.mark.slow
def test_a_slip_hides_no_true_fault() -> None:
    low = heights_of("day one") - 0.15 * on_mound()
    check = check_as_built(study(), shots(low + 0.12))
    assert check.slip == pytest.approx(0.12, abs=0.015)
    assert check.missing.missing == pytest.approx(0.15 * study().proposal.worked.area, rel=0.15)
    oak = np.array(study().site.tree[0].at)
    heaped = heights_of("day one") + 0.2 * (np.hypot(*(places() - oak).T) < 2.0)
    assert any(
        f.level == "stop" and "keep-off" in f.text for f in check_as_built(study(), shots(heaped - 0.12)).findings
    )


@pytest.mark.parametrize(("slip", "beside"), [(0.06, 2), pytest.param(-0.12, 0, marks=pytest.mark.slow)])
def test_a_mound_that_stands_off_alike_without_shots_beside_it_is_first_of_all_a_slip(slip: float, beside: int) -> None:
    """A slip and a layer that is missing everywhere look the same on the mound: the cause first, and no fault of it."""
    near_oak = np.hypot(*(places() - np.array(study().site.tree[0].at)).T) < 2.0
    keep = on_mound() | near_oak
    keep[np.flatnonzero(~keep)[:beside]] = True
    check = check_as_built(study(), shots(heights_of("day one")[keep] + slip, places()[keep]))
    true = check_as_built(study(), shots(heights_of("day one")[keep], places()[keep]))
    assert (check.slip, true.suspected) == (0.0, 0.0)
    assert check.suspected == pytest.approx(slip, abs=0.005)
    first = check.findings[0]
    assert first.level == "caution"
    assert "A slipped benchmark looks the same" in first.text
    volume = check.missing.surplus if slip > 0.0 else check.missing.missing
    # What follows from it is told there, with its figure, and nowhere as a fault of its own.
    assert show_volume(volume, study().site.units, "placed") in first.text
    assert [f.text for f in check.findings[1:]] == [f.text for f in true.findings]
    assert check.apart == ()
    assert check.missing.missing - check.missing.surplus == pytest.approx(
        true.missing.missing - true.missing.surplus - slip * study().proposal.worked.area, rel=0.05
    )


def test_a_mound_that_stands_off_unevenly_is_no_slip() -> None:
    uneven = heights_of("day one") + np.linspace(-0.3, 0.3, len(places()))
    keep = on_mound() | (np.hypot(*(places() - np.array(study().site.tree[0].at)).T) < 2.0)
    found = check_as_built(study(), shots(uneven[keep], places()[keep])).findings
    assert not any("slipped benchmark" in f.text for f in found)


def test_a_likely_slip_hides_no_true_fault() -> None:
    on = on_mound()
    oak = np.hypot(*(places() - np.array(study().site.tree[0].at)).T) < 2.0
    heaped = (heights_of("day one") + 0.2 * oak)[on | oak] - 0.12
    check = check_as_built(study(), shots(heaped, places()[on | oak]))
    assert check.suspected == pytest.approx(-0.12, abs=0.005)
    assert any(f.level == "stop" and "keep-off" in f.text for f in check.findings)
    assert {shot.where for shot in check.apart} == {"keep-off of " + study().site.tree[0].name}


def test_untouched_ground_that_does_not_agree_is_no_slip() -> None:
    rough = heights_of("day one")
    outside = ~on_mound()
    rough[outside] += np.linspace(0.0, 0.5, int(outside.sum()))
    assert check_as_built(study(), shots(rough)).slip == 0.0


def test_shots_on_part_of_the_mound_are_said_to_be() -> None:
    west = places()[:, 0] < 11.5
    check = check_as_built(study(), shots(heights_of("day one")[west], places()[west]))
    assert check.covered < 0.6
    assert "nothing is known of the rest" in check.findings[0].text


def test_a_settled_yard_is_low_against_day_one_by_the_settlement() -> None:
    check = check_as_built(study(), shots(heights_of("settled")), "day one", 0.01)
    work, proposal = study().work, study().proposal
    settlement = (work.day_one_factor - 1.0) * float(_mesh_fill())
    assert check.missing.missing == pytest.approx(settlement, rel=0.08)
    assert proposal.worked.area > 0.0


def _mesh_fill() -> float:
    mesh = study().proposal.mesh
    corners = mesh.points[mesh.triangles[mesh.inside]]
    areas = np.array([Polygon(triangle).area for triangle in corners])
    return float((areas * mesh.fill[mesh.triangles[mesh.inside]].mean(axis=1)).sum())


def test_table_and_plain_values_tell_the_same() -> None:
    check = check_as_built(study(), shots(heights_of("day one") - INCH * on_mound()))
    text = as_built_csv(check, "ft")
    rows = list(csv.DictReader(text.splitlines()))
    plain = as_built_plain(check, "ft")
    assert [row["point"] for row in rows] == [shot["name"] for shot in plain["shots"]]  # type: ignore[index,attr-defined]
    for row, shot in zip(rows, check.shots, strict=True):
        assert row["held against"] == check.stage
        assert float(row["built less day one (ft)"]) * 0.3048 == pytest.approx(shot.over_day_one, abs=2e-4)
    assert plain["missing_placed_m3"] == check.missing.missing


@pytest.mark.parametrize(
    ("inches", "words", "number"),
    [(-2.25, "2 1/4 in low", "−2"), (1.0, "1 in high", "+1"), (0.05, "even", "0"), (-0.6, "1/2 in low", "−0.5")],
)
def test_words_of_a_difference(inches: float, words: str, number: str) -> None:
    assert off_words(inches * INCH, "ft") == words
    assert off_number(inches * INCH, "ft") == number


def _file(folder: Path, rows: list[str]) -> Path:
    path = folder / "asbuilt.csv"
    path.write_text("\n".join(["point,x,y,elevation,code", *rows]) + "\n", encoding="utf-8")
    return path


def test_a_file_of_shots_is_read_without_its_benchmark(tmp_path: Path) -> None:
    rows = ["BM,0,0,100,benchmark", "1,30,10,100.5,", "2,35,12,101,", "3,40,9,100.8,top"]
    built = read_built(_file(tmp_path, rows), study().site)
    assert built.names == ("1", "2", "3")
    assert built.shots[0] == pytest.approx(np.array([30.0, 10.0, 100.5]) * 0.3048)


@pytest.mark.parametrize(
    ("rows", "said"),
    [
        (["1,30,10,100.5,", "2,35,12,101,"], "holds 2 on the ground"),
        (["1,30,10,100.5,", "2,35,12,101,", "3,4000,12,101,"], "from the bed"),
        (["1,30,10,30.6,", "2,35,12,30.7,", "3,40,12,500,"], "off the elevations surveyed"),
        (["1,30,10,high,", "2,35,12,101,", "3,40,12,101,"], "row 2"),
    ],
)
def test_a_file_that_cannot_be_the_yard_is_refused(rows: list[str], said: str, tmp_path: Path) -> None:
    with pytest.raises(InputError, match=said):
        read_built(_file(tmp_path, rows), study().site)


def test_a_file_that_is_not_there_is_named_with_the_way_to_it(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"--shots: there is no file .*gone\.csv\. Give its path from the folder you"):
        read_built(tmp_path / "gone.csv", study().site)


def test_shots_off_the_mound_alone_are_refused() -> None:
    beside = places()[-7:]
    with pytest.raises(InputError, match="stand on the mound"):
        check_as_built(study(), shots(grades(study(), beside)[0], beside))


@pytest.mark.parametrize("tolerance", [0.0, 5.0])
def test_a_tolerance_out_of_range_is_refused(tolerance: float) -> None:
    with pytest.raises(InputError, match=r"out of range\. Accepted: 1/8 in to 1 ft"):
        check_as_built(study(), shots(heights_of("day one")), "day one", tolerance)


def test_no_soil_over_the_plan_is_not_offered_for_raking() -> None:
    low = two_inches_low()
    (text,) = [found.text for found in low.findings if found.text.startswith("Still missing")]
    assert low.missing.surplus < 1e-3
    assert "over the plan" not in text


@pytest.mark.slow
def test_the_map_labels_lie_clear_of_each_other() -> None:
    import shapely

    from viewer.page.subject import Subject
    from viewer.sheets.asbuilt_map import as_built_page, shot_labels
    from viewer.sheets.plan import sheet_of

    check = two_inches_low()
    subject = Subject(study().site, study().ground, study().proposal, study().work)
    boxes = [item.box for item in shot_labels(subject, check, sheet_of(subject))]
    pairs = shapely.STRtree(boxes).query(boxes, predicate="overlaps").T
    assert not [pair for pair in pairs if pair[0] < pair[1]]
    assert as_built_page(study(), check).width > 0.0
