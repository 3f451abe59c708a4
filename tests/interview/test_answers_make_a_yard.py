"""Whatever is answered about a yard, its folder reads, and readings that cannot be right are asked about."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

import numpy as np
import pytest
from examples_drawn import drawn
from hypothesis import HealthCheck, given, settings, strategies as st
from odd_yards import odd_sites

from terrain import Site, read_site
from terrain.interview import files_of, heard, prompt, talk_begun
from terrain.interview.answers import USUAL_BED, Answers, rise_of, side_of_rise
from terrain.interview.questions import FOLLOW_UPS, QUESTIONS
from terrain.interview.signs import contradicts
from terrain.interview.talk import COUNT, Talk

FOOT = 0.3048
approx = pytest.approx


def talked(lines: Iterable[str]) -> tuple[Talk, list[str]]:
    """The talk after some lines and then empty ones to its end, and all that was said."""
    talk, told = talk_begun(), []
    for line in lines:
        if not talk.done:
            talk, said = heard(talk, line)
            told.append(said)
    for _ in range(60):
        if talk.done:
            break
        talk, said = heard(talk, "")
        told.append(said)
    return talk, told


def written(talk: Talk, folder: Path) -> Site:
    for name, text in files_of(talk.answers).items():
        (folder / name).write_text(text, encoding="utf-8", newline="")
    return read_site(folder / "site.toml")


def shots(rows: Iterable[tuple[float, float, float]]) -> list[str]:
    return [f"{x}, {y}, {z}" for x, y, z in rows]


GRID = [(x, y) for x in (0.0, 12.0, 24.0) for y in (0.0, 6.0, 12.0)]
TO_FAR = shots((x, y, 4.0 + 0.05 * y) for x, y in GRID)  # a rod reads more to the far side: the near side is high


def test_about_twelve_questions_are_asked_of_everybody() -> None:
    assert COUNT == 12
    assert len({one.key for one in QUESTIONS}) == len(QUESTIONS) == 12 + len(FOLLOW_UPS)


def test_somebody_who_knows_nothing_has_a_yard_that_says_so(tmp_path: Path) -> None:
    assert talk_begun("m").answers.units == "m"
    talk, _ = talked([])
    assert talk.done
    site = written(talk, tmp_path)
    assert not site.survey.measured
    long, wide = USUAL_BED["ft"]
    assert site.bed.outline.area == approx(long * wide, rel=1e-6)
    assert (site.tree, site.building, site.soil.price) == ((), (), None)


def test_every_answer_stands_in_the_file(tmp_path: Path) -> None:
    lines = ["m", "8 x 4", "string", *shots((x / 3, y / 3, 100 * z) for x, y, z in _metres()), "", "100", "near"]
    lines += ["far 3.5", "lime, 150, 5, 6", "", "2.5", "3:1", "55", "48", "6"]
    site = written(talked(lines)[0], tmp_path)
    assert site.units == "m"
    assert site.bed.outline.bounds == approx((0, 0, 8, 4), abs=1e-9)
    assert len(site.survey.shots) == len(GRID)
    assert np.ptp(site.survey.shots[:, 2]) == approx(0.6, abs=1e-6)  # what the ruler read in cm
    (tree,) = site.tree
    assert tree.trunk == approx(1.5 / np.pi, rel=1e-6)
    assert np.hypot(*tree.at) == approx(5.0, abs=1e-3)
    assert np.hypot(tree.at[0] - 8.0, tree.at[1]) == approx(6.0, abs=1e-3)
    assert tree.at[1] > 0.0
    assert tree.keep_off == approx(2.5, abs=1e-9)
    assert site.building[0].outline.bounds == approx((0, 7.5, 8, 13.5), abs=1e-9)
    assert site.berm.max_slope == approx(1 / 3, rel=1e-9)
    assert max(point.height for point in site.berm.crest) == approx(0.55, abs=1e-9)
    assert (site.soil.price, site.soil.truck) == (approx(48.0), approx(6.0, rel=1e-3))


def _metres() -> list[tuple[float, float, float]]:
    return [(x, y, 1.0 + 0.05 * y) for x, y in GRID]


@pytest.mark.parametrize("measured", ["rod", "string"])
@pytest.mark.parametrize(("reply", "kind"), [("other", "elevations"), ("slip", "same"), ("don't know", "no")])
def test_readings_that_rise_the_wrong_way_are_asked_about(measured: str, reply: str, kind: str) -> None:
    rows = TO_FAR if measured == "rod" else shots((x, y, 40.0 + 0.6 * y) for x, y in GRID)
    talk = talk_begun()
    for line in ["ft", "24 by 12", measured, *rows, "", "", "far"]:
        talk, _ = heard(talk, line)
    assert talk.question.key == "sign"
    assert "the far side is high" in prompt(talk)
    talk, said = heard(talk, reply)
    assert talk.question.key == "house", said
    assert talk.answers.measured == (measured if kind == "same" else kind)
    if talk.answers.shots:
        high = side_of_rise(rise_of(talk.answers)[1])
        assert high == ("near" if kind == "same" else "far")


def test_forty_yards_typed_the_wrong_way_up_are_all_asked_about() -> None:
    """Elevations given out as rod readings, of yards with a fall that an eye sees, whose high side is said."""
    done = 0
    for _, site in odd_sites(range(120)):
        spots = site.survey.shots
        slope, up = _plane(spots)
        if slope < 0.01:
            continue
        rows = tuple((x, y, z) for x, y, z in (spots - [0.0, 0.0, spots[:, 2].min()]).tolist())
        for measured, wrong in (("rod", True), ("string", True), ("elevations", False)):
            said = Answers(units="m", measured=measured, shots=rows, high=side_of_rise(up))
            assert contradicts(said) == wrong
        done += 1
    assert done >= 40


def _plane(spots: np.ndarray) -> tuple[float, tuple[float, float]]:
    terms = np.column_stack([spots[:, :2], np.ones(len(spots))])
    east, north, _ = np.linalg.lstsq(terms, spots[:, 2], rcond=None)[0]
    slope = float(np.hypot(east, north))
    return slope, (float(east) / max(slope, 1e-9), float(north) / max(slope, 1e-9))


def test_a_level_that_has_moved_is_noticed_and_widens_what_is_kept(tmp_path: Path) -> None:
    lines = ["ft", "24 by 12", "rod", *TO_FAR, "", "4.15"]
    talk = talk_begun()
    for line in lines:
        talk, _ = heard(talk, line)
    assert talk.question.key == "keep"
    kept, _ = heard(talk, "keep")
    site = written(talked([*lines, "keep"])[0], tmp_path)
    assert site.survey.accuracy == approx(0.15 * FOOT / np.sqrt(2.0), abs=1e-4)
    anew, _ = heard(talk, "anew")
    assert anew.question.key == "shots"
    assert (kept.question.key, anew.answers.shots) == ("high", ())


def test_each_shot_is_echoed_as_it_was_read() -> None:
    for measured, typed, echo in (
        ("rod", "4, 6, 4.32", "reads 4.32 ft"),
        ("string", "4, 6, 14 1/2", "reads 14 1/2 in"),
    ):
        talk = talk_begun()
        for line in ["ft", "", measured]:
            talk, _ = heard(talk, line)
        assert heard(talk, typed)[1] == f"1: 4 ft along, 6 ft out, {echo}"


def test_a_fall_toward_the_house_is_said_when_the_house_is_named() -> None:
    talk = talk_begun()
    for line in ["ft", "24 by 12", "rod", *TO_FAR, "", "", ""]:
        talk, _ = heard(talk, line)
    assert "falls toward it by 5 %" in heard(talk, "far 10")[1]
    assert "falls" not in heard(talk, "near 10")[1]


@pytest.mark.parametrize(
    ("before", "typed", "said"),
    [
        ([], "furlongs", '"furlongs" is no unit of a tape. Accepted: ft or m.'),
        (["ft"], "26 by 0", '"0" is out of range. Accepted: 2 ft 11'),
        (["ft"], "26", '"26" holds 1 figures. Accepted: length by width'),
        (["ft", ""], "laser", '"laser" is no way of measuring. Accepted: rod, elevations, string, no.'),
        (["ft", "", "rod"], "4, 6", "holds 2 figures. Accepted: along, out, reading"),
        (["ft", "", "rod"], "4, 6, 104.2", '"104.2" is out of range. Accepted: 0 ft to'),
        (["ft", "", "rod", "4, 6, 4.2"], "4, 6, 4.3", "stands where an earlier one does"),
        (["ft", "", "rod", "4, 6, 4.2"], "", "1 shot cannot carry a surface. Accepted: 3 or more"),
        (["ft", "", "rod", "4, 6, 4.2"], "drop 2", "there is no row 2. Accepted: 1 to 1."),
        (["ft", "", "rod", "0,0,4", "5,0,4", "10,0,4"], "", "shots lie in one line"),
        (
            ["ft", "", "", "uphill"],
            "uphill",
            '"uphill" is no side of the bed. Accepted: near, far, left, right, level.',
        ),
        (["ft", "", "", ""], "over there", "does not say where the house is"),
        (["ft", "", "", "", ""], "oak, 57", "is no tree by girth and two tapes"),
        (["ft", "", "", "", ""], "oak, 57, 3, 4", "the two tapes do not meet"),
        (["ft", "", "", "", ""], "oak, 57, 600, 601", "is out of range"),
        (["ft", "", "", "", "", ""], "upright", "upright"),
        (["ft", "", "", "", "", "", ""], "40 ft", "is out of range"),
        (["ft", "", "", "", "", "", "", ""], "cheap", '"cheap" is no price'),
        (["ft", "", "", "", "", "", "", "", ""], "900", "is no truck of soil"),
    ],
)
def test_a_wrong_answer_is_asked_again_with_what_is_accepted(before: list[str], typed: str, said: str) -> None:
    talk = talk_begun()
    for line in before:
        talk, _ = heard(talk, line)
    after, told = heard(talk, typed)
    assert after == talk
    assert said in told


FIGURE = st.one_of(st.floats(-5.0, 60.0).map(lambda x: f"{x:.2f}"), st.sampled_from(["2 ft 4 in", "0.5 m", "nan"]))
LINE = st.one_of(
    st.sampled_from(["", "?", "don't know", "none", "no", "ft", "m", "rod", "string", "elevations", "near", "far 9"]),
    st.sampled_from(["26 by 12", "8 x 4", "planted", "mown", "3:1", "level", "left", "other", "slip", "anew", "keep"]),
    st.sampled_from(["drop 1", "oak, 57, 18, 21", 'o"k\\, 60, 9, 22', "lime, 40, 20, 20, near", "10 cu yd", "8 m3"]),
    st.tuples(FIGURE, FIGURE).map(", ".join),
    st.tuples(FIGURE, FIGURE, FIGURE).map(", ".join),
    FIGURE,
    st.text(max_size=12),
)


@settings(max_examples=drawn(15), deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.lists(LINE, max_size=60))
def test_whatever_is_answered_the_site_file_reads(tmp_path_factory: pytest.TempPathFactory, lines: list[str]) -> None:
    talk, told = talked(lines)
    if not talk.done:  # rows that carry no surface: somebody has to say what is meant
        assert "Accepted" in told[-1]
        talk, _ = talked([*lines, *["none", "anew", "none"] * 8])
    assert talk.done
    site = written(talk, tmp_path_factory.mktemp("yard"))
    assert site.berm.crest
    assert len(site.survey.shots) == (len(talk.answers.shots) or 4)


@pytest.mark.slow
@pytest.mark.parametrize("units", ["ft", "m"])
def test_a_bed_of_any_shape_has_a_crest_inside(units: str, tmp_path: Path) -> None:
    """Beds of forty odd yards, typed corner by corner."""
    done = 0
    for number, (_, site) in enumerate(odd_sites(range(80))):
        corners = [f"{x:.3f}, {y:.3f}" for x, y in site.bed.outline.exterior.coords[:-1]]
        talk = talk_begun()
        for line in [units, *corners, ""]:
            talk, told = heard(talk, line)
        if talk.question.key == "bed":
            assert "narrower" in told or "cross" in told or "out of range" in told
            continue
        (tmp_path / f"{number}").mkdir()
        made = written(talk, tmp_path / f"{number}")
        assert made.berm.crest
        done += 1
    assert done >= 40
