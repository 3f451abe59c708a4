"""Places by tape and elevations by level, put together by point name through the site file."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from invented_yard import FOOT, SHOTS, SITE, refusal, yard

from terrain.field.setout.known import known_points

NEAR = 1e-9  # metres
# The invented yard's five shots, measured with tape and level: the place of 5 by two tapes, of 3 by its offset.
TAPED = """\
[survey]
accuracy   = "0.02 ft"
level_book = "levels.csv"
benchmark  = { point = "BM", elevation = 100.0 }
points     = { 1 = [0, 0], 2 = [50, 0], 4 = [0, 45] }
ties       = "ties.csv"
offsets    = "offsets.csv"
baseline   = ["1", "2"]
"""
FILES = {
    "levels.csv": (
        "point,bs,is,fs\nBM,4.00,,\n1,,4.00,\n2,,3.40,\n5,,3.30,\nTP,4.50,,5.00\n3,,2.10,\n4,,2.60,\nBM,,,3.50\n"
    ),
    "ties.csv": "point,from,distance,from 2,distance 2,side,code\n5,1,32.0156212,2,32.0156212,left of 1 to 2,oak\n",
    "offsets.csv": "point,station,offset\n3,0+50,45 L\n",
}
SHOTS_FT = {"1": (0, 0, 100.0), "2": (50, 0, 100.6), "4": (0, 45, 100.9), "5": (25, 20, 100.7), "3": (50, 45, 101.4)}
SURVEY = SITE[SITE.index("[survey]") : SITE.index("[bed]")]


def site_with(survey: str) -> str:
    return SITE.replace(SURVEY, survey + "\n")


def test_tape_and_level_give_the_shots_that_a_table_would(tmp_path: Path) -> None:
    survey = yard(tmp_path, site_with(TAPED), FILES).survey
    assert dict(zip(survey.names, (survey.shots / FOOT).tolist(), strict=True)) == {
        name: pytest.approx(at, abs=1e-6) for name, at in SHOTS_FT.items()
    }
    assert dict(zip(survey.names, survey.codes, strict=True))["5"] == "oak"
    assert survey.notes == (
        "levels.csv: the run from BM to BM (2 set-ups) closes at +0.000 ft, within the 0.020 ft allowed (the least for "
        "small sites; the length of the run is not known).",
        "TP, BM have an elevation but no place, and are no shots.",
    )


def test_a_table_of_places_and_a_book_of_levels_meet_by_name(tmp_path: Path) -> None:
    survey = '[survey]\nshots = "places.csv"\nlevel_book = "levels.csv"\nbenchmark = {point = "BM", elevation = 100}\n'
    files = {
        "levels.csv": FILES["levels.csv"],
        "places.csv": "point,x,y,code\n1,0,0,\n2,50,0,\n3,50,45,\n4,0,45,\n5,25,20,\nBM,2,2,benchmark\n6,9,9,\n",
    }
    read = yard(tmp_path, site_with(survey), files).survey
    assert read.names == ("1", "2", "3", "4", "5")
    assert read.shots[:, 2] / FOOT == pytest.approx([100.0, 100.6, 101.4, 100.9, 100.7], abs=NEAR)
    assert read.notes[1:] == (
        "6 has a place but no elevation, and is no shot.",
        "TP has an elevation but no place, and is no shot.",
        "BM is coded as not on the ground, and is left out of it.",
    )


def test_a_table_of_elevations_and_tapes_meet_by_name(tmp_path: Path) -> None:
    survey = TAPED.replace('level_book = "levels.csv"', 'shots = "heights.csv"').replace("benchmark", "# benchmark")
    files = {**FILES, "heights.csv": "point,elevation\n1,100\n2,100.6\n3,101.4\n4,100.9\n5,100.7\n"}
    read = yard(tmp_path, site_with(survey), files).survey
    assert sorted(read.names) == ["1", "2", "3", "4", "5"]
    assert read.notes == ()


def test_ties_and_offsets_may_carry_their_elevations(tmp_path: Path) -> None:
    survey = '[survey]\nshots = "shots.csv"\nties = "ties.csv"\noffsets = "offsets.csv"\nbaseline = [[0, 0], [50, 0]]\n'
    files = {
        "ties.csv": "point,from,distance,from 2,distance 2,side,elevation\n6,1,30,2,40,left,100.5\n",
        "offsets.csv": "point,sta,offset,elev\n7,10,5 L,100.2\n",
    }
    read = yard(tmp_path, site_with(survey), files).survey
    found = dict(zip(read.names, (read.shots / FOOT).tolist(), strict=True))
    assert found["6"] == pytest.approx((18, 24, 100.5), abs=1e-6)
    assert found["7"] == pytest.approx((10, 5, 100.2), abs=1e-6)


def test_points_without_a_name_stand_as_they_are(tmp_path: Path) -> None:
    survey = '[survey]\nshots = "some.csv"\nties = "ties.csv"\n'
    files = {
        "some.csv": "point,x,y,z\nA,0,0,100\nB,50,0,100.6\n,50,45,101\n,0,45,100.9\n",
        "ties.csv": "point,from,distance,from 2,distance 2,side\nP,A,30,B,40,left\n",
    }
    read = yard(tmp_path, site_with(survey), files).survey
    assert read.names == ("point 1", "point 2", "A", "B")
    assert read.notes == ("P has a place but no elevation, and is no shot.",)


def test_a_survey_in_metres_reads_the_same_book(tmp_path: Path) -> None:
    feet = yard(tmp_path, site_with(TAPED), FILES)
    taped = TAPED.replace("elevation = 100.0", 'elevation = "100 ft"').replace("[0, 0]", '["0 ft", "0 ft"]')
    taped = taped.replace("[50, 0]", '["50 ft", "0 ft"]').replace("[0, 45]", '["0 ft", "45 ft"]')
    files = {
        "levels.csv": FILES["levels.csv"].replace("bs,is,fs", "bs,is,fs"),
        "ties.csv": FILES["ties.csv"],
        "offsets.csv": FILES["offsets.csv"].replace("0+50,45 L", "50 ft,45 ft L"),
    }
    files["levels.csv"] = "\n".join(
        ",".join(f"{cell} ft" if "." in cell else cell for cell in line.split(","))
        for line in files["levels.csv"].split("\n")
    )
    files["ties.csv"] = files["ties.csv"].replace("32.0156212", "32.0156212 ft")
    site = SITE.replace('units = "ft"', 'units = "m"').replace(SURVEY, taped + "\n").replace('"bed.csv"', '"bed_m.csv"')
    site = site.replace("[31.0, 22.5]", '["31 ft", "22.5 ft"]').replace("[44.0, 12.0]", '["44 ft", "12 ft"]')
    site = site.replace("[[0, 0], [3, 0], [3, 30], [0, 30]]", "[[0, 0], [0.9, 0], [0.9, 9], [0, 9]]")
    site = site.replace("[[0, 40], [30, 40], [30, 60], [0, 60]]", "[[0, 12], [9, 12], [9, 18], [0, 18]]")
    site = site.replace("101.9", '"101.9 ft"')
    site = site.replace('[[18, 20, "22 in"], [26, 24, "30 in"], [37, 21, "14 in"]]', '[["18 ft", "20 ft", "22 in"]]')
    files["bed_m.csv"] = "x,y\n10 ft,14 ft\n45 ft,14 ft\n45 ft,30 ft\n10 ft,30 ft\n"
    (tmp_path / "m").mkdir()
    metres = yard(tmp_path / "m", site, files)
    assert metres.survey.names == feet.survey.names
    assert np.abs(metres.survey.shots - feet.survey.shots).max() < 1e-9


REFUSED = {
    "no such book": (
        TAPED.replace("levels.csv", "book.csv"),
        {},
        'site.toml [survey] level_book: there is no file "book.csv" (looked for "book.csv").',
    ),
    "no such ties": (TAPED.replace("ties.csv", "t.csv"), {}, 'site.toml [survey] ties: there is no file "t.csv"'),
    "no such offsets": (
        TAPED.replace("offsets.csv", "o.csv"),
        {},
        'site.toml [survey] offsets: there is no file "o.csv"',
    ),
    "no baseline": (
        TAPED.replace('baseline   = ["1", "2"]', ""),
        {},
        "site.toml [survey] baseline: stations and offsets have no baseline. Add its ends: baseline = [",
    ),
    "a baseline from nowhere": (
        TAPED.replace('["1", "2"]', '["1", "22"]'),
        {},
        'site.toml [survey] baseline: "22" is no known point. Did you mean "2"?',
    ),
    "a baseline of one point": (
        TAPED.replace('["1", "2"]', '["1", "1"]'),
        {},
        "site.toml [survey] baseline: ['1', '1'] starts and ends at one point.",
    ),
    "a baseline of three": (
        TAPED.replace('["1", "2"]', '["1", "2", "4"]'),
        {},
        "site.toml [survey] baseline: ['1', '2', '4'] is no baseline. Accepted: two points, start and end,",
    ),
    "no class": (
        TAPED + 'level_class = "third"\n',
        {},
        'site.toml [survey] level_class: "third" is no class of levelling. Accepted: first order class I, first order',
    ),
    "a benchmark without elevation": (
        TAPED.replace(", elevation = 100.0 }", " }"),
        {},
        "site.toml [survey] benchmark: {'point': 'BM'} is no benchmark. Accepted: { point = \"BM\", elevation = 100",
    ),
    "a benchmark in words": (
        TAPED.replace("100.0", '"high"'),
        {},
        'site.toml [survey] benchmark: "high" is not a length.',
    ),
    "points in a list": (
        TAPED.replace("{ 1 = [0, 0], 2 = [50, 0], 4 = [0, 45] }", "[[0, 0]]"),
        {},
        "site.toml [survey] points: [[0, 0]] is no table of points. Accepted: such as { A = [0, 0], B = [50, 0] }.",
    ),
    "a bound of nothing": (TAPED + "tie_bound = 0\n", {}, "site.toml [survey] tie_bound: 0 is not above zero."),
    "too few complete points": (
        TAPED,
        {"levels.csv": "point,bs,is\nBM,4.00,\n1,,4.00\nP 2,,3.40\n"},
        "site.toml [survey]: 1 point has both a place and an elevation. levels.csv: the run from BM (1 set-up) closes "
        "on no benchmark: nothing checks its elevations. 5, 3 have a place but no elevation, and are no shots. P 2,",
    ),
    "a place twice": (
        TAPED + 'shots = "s.csv"\n',
        {"s.csv": "point,x,y,z\n1,0,0,100\n"},
        'site.toml [survey] points: "1" has a place already, by s.csv row 2. Give two points two names.',
    ),
    "a name twice": (
        TAPED + 'shots = "s.csv"\n',
        {"s.csv": "point,x,y,z\nQ,0,0,100\nq,3,0,100\n"},
        's.csv row 3: "q" has a place already, by s.csv row 2.',
    ),
    "two elevations": (
        TAPED + 'shots = "s.csv"\n',
        {"s.csv": "point,elevation\n5,100.8\n"},
        'levels.csv: "5" has two elevations, 100.80 ft and 100.70 ft; the first is by s.csv row 2. Keep the right one,',
    ),
    "a row without a name": (
        TAPED + 'shots = "s.csv"\n',
        {"s.csv": "point,x,y,elevation\n,3,4,\n"},
        "s.csv row 2: a point without a name has no place or no elevation. Name it, or measure the rest.",
    ),
}


@pytest.mark.parametrize("case", REFUSED)
def test_a_survey_that_does_not_come_together_is_refused(tmp_path: Path, case: str) -> None:
    survey, files, message = REFUSED[case]
    assert message in refusal(tmp_path, site_with(survey), {**FILES, **files})


def test_a_misclosure_over_the_allowance_stops_the_site(tmp_path: Path) -> None:
    files = {**FILES, "levels.csv": FILES["levels.csv"].replace("BM,,,3.50", "BM,,,3.45")}
    assert "levels.csv: the run from BM to BM (2 set-ups) closes at +0.050 ft, more than the 0.020 ft" in refusal(
        tmp_path, site_with(TAPED), files
    )
    looser = TAPED + 'level_class = "Construction"\nlevel_run = "1500 ft"\n'
    notes = yard(tmp_path, site_with(looser), files).survey.notes
    assert "closes at +0.050 ft, within the 0.053 ft allowed (construction over 1500 ft)" in notes[0]


def test_points_that_were_measured_from_are_what_tapes_start_from_again(tmp_path: Path) -> None:
    site = yard(tmp_path, site_with(TAPED), FILES)
    at = {name: tuple(np.array(place) / FOOT) for name, place in site.survey.known}
    assert at == {
        "1": pytest.approx((0.0, 0.0)),
        "2": pytest.approx((50.0, 0.0), abs=NEAR),
        "4": pytest.approx((0.0, 45.0), abs=NEAR),
    }
    first = [point.name for point in known_points(site)[:3]]
    assert first == ["1", "2", "4"]  # before the corners of the house and of the walk


def test_a_coded_benchmark_is_a_point_to_tape_from_and_no_shot(tmp_path: Path) -> None:
    site = yard(tmp_path, files={"shots.csv": SHOTS + "BM,2,44,103.1,benchmark\n"})
    assert [(name, pytest.approx(tuple(np.array(at) / FOOT), abs=NEAR)) for name, at in site.survey.known] == [
        ("BM", (2.0, 44.0))
    ]
    assert "BM" not in site.survey.names
