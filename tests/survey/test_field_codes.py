"""Field codes: one survey file carries outline, breaklines, trees, buildings and ground to keep clear."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from invented_yard import FOOT, SITE, refusal, yard

from terrain.survey.codes import Mark, marks_of, slip_of

NEAR = 1e-9  # metres
CODED = """\
point,x,y,elevation,code
1,0,0,100.00,
2,50,0,100.60,
3,50,45,101.40,
4,0,45,100.90,wall
11,10,14,100.4,outline
12,45,14,100.7,outline + BL1
13,45,30,101.0,Bed outline+bl 1 kerb
14,10,30,100.7,OUTLINE
21,30,22,100.8,tree pin oak 18 in
22,31,22.5,100.8,tree Bur Oak
31,0,40,100.8,building corner shed
32,8,40,100.8,building shed
33,8,44,100.9,bldg shed
41,20,2,100.2,keep clear drain
42,24,2,100.2,keep_clear drain
43,24,5,100.3,keep clear: drain
51,5,5,103.2,benchmark nail in pole
61,40,5,100.5,breakline top
62,44,5,100.5,breakline top
"""
OUTLINE = 'outline  = "bed.csv"\n'
AT = "at       = [31.0, 22.5]\n"
WHOLE = SITE.replace(OUTLINE, "").replace(AT, "")


def coded(folder: Path, site: str = WHOLE, shots: str = CODED):  # type: ignore[no-untyped-def]
    return yard(folder, site, {"shots.csv": shots})


def test_one_survey_carries_the_whole_yard(tmp_path: Path) -> None:
    site = coded(tmp_path)
    assert site.bed.outline.equals(yard(tmp_path).bed.outline)
    trees = {tree.name: (tree.at, tree.trunk) for tree in site.tree}
    assert trees["pin oak"][0] == pytest.approx((30 * FOOT, 22 * FOOT), abs=NEAR)
    assert trees["pin oak"][1] == pytest.approx(18 * FOOT / 12, abs=NEAR)
    assert trees["bur oak"][0] == pytest.approx((31 * FOOT, 22.5 * FOOT), abs=NEAR)
    shed = next(building for building in site.building if building.name == "shed")
    assert shed.outline.area == pytest.approx(16 * FOOT**2, abs=NEAR)
    drain = next(ground for ground in site.keep_clear if ground.name == "drain")
    assert drain.outline.area == pytest.approx(6 * FOOT**2, abs=NEAR)
    first, second = (line / FOOT for line in site.survey.breaklines)
    assert first == pytest.approx(np.array([[45, 14, 100.7], [45, 30, 101.0]]), abs=1e-6)
    assert second == pytest.approx(np.array([[40, 5, 100.5], [44, 5, 100.5]]), abs=1e-6)


def test_coded_shots_are_ground_and_a_benchmark_is_not(tmp_path: Path) -> None:
    survey = coded(tmp_path).survey
    assert len(survey.shots) == 18
    assert "51" not in survey.names
    assert survey.rows[survey.names.index("61")] == 19
    assert survey.notes == ("51 is coded as not on the ground, and is left out of it.",)


def test_the_outline_may_ask_for_codes_by_name(tmp_path: Path) -> None:
    site = coded(tmp_path, SITE.replace('"bed.csv"', '"codes"'))
    assert site.bed.outline.area == pytest.approx(35 * 16 * FOOT**2, abs=1e-6)


def test_an_outline_of_the_site_file_stands_before_the_codes(tmp_path: Path) -> None:
    site = coded(tmp_path, SITE.replace('"bed.csv"', "[[12, 14], [45, 14], [45, 30], [12, 30]]"))
    assert site.bed.outline.bounds[0] == pytest.approx(12 * FOOT, abs=NEAR)
    assert "Points coded as outline are ordinary shots: [bed] gives its own outline." in site.survey.notes


def test_a_bed_table_may_be_left_out_where_codes_draw_it(tmp_path: Path) -> None:
    bed = SITE[SITE.index("[bed]") : SITE.index("[[tree]]")]
    assert coded(tmp_path, WHOLE.replace(bed.replace(OUTLINE, ""), "")).bed.sod == 0.0


def test_a_tree_of_the_site_file_keeps_what_it_says(tmp_path: Path) -> None:
    shots = CODED.replace("tree Bur Oak", "tree Bur Oak 20 in")
    oak = next(tree for tree in coded(tmp_path, shots=shots).tree if tree.name == "bur oak")
    assert oak.trunk == pytest.approx(26 * FOOT / 12, abs=NEAR)
    apart = coded(tmp_path, SITE.replace(OUTLINE, ""), CODED.replace("22,31,22.5", "22,33,25"))
    assert next(tree for tree in apart.tree if tree.name == "bur oak").at[0] == pytest.approx(31 * FOOT, abs=NEAR)


def test_a_coded_tree_without_a_size_anywhere_is_said(tmp_path: Path) -> None:
    shots = CODED.replace("tree pin oak 18 in", "tree line")
    site = coded(tmp_path, shots=shots)
    assert [tree.name for tree in site.tree] == ["red maple", "bur oak"]
    assert 'shots.csv row 10: the tree "line" has no trunk diameter, here or under [[tree]]: taken as a shot only.' in (
        site.survey.notes
    )


def test_a_building_of_the_site_file_takes_its_outline_from_the_codes(tmp_path: Path) -> None:
    site = WHOLE.replace('name     = "house"\noutline  = [[0, 40], [30, 40], [30, 60], [0, 60]]', 'name     = "shed"')
    (shed,) = coded(tmp_path, site).building
    assert shed.floor == pytest.approx(101.9 * FOOT, abs=NEAR)
    assert shed.outline.area == pytest.approx(16 * FOOT**2, abs=NEAR)


def test_a_place_may_be_a_point_of_the_survey(tmp_path: Path) -> None:
    site = SITE.replace("[31.0, 22.5]", '"22"').replace("[grid]", '[[view_from]]\nname = "window"\nat = "2"\n\n[grid]')
    read = coded(tmp_path, site)
    assert read.tree[1].at == pytest.approx((31 * FOOT, 22.5 * FOOT), abs=NEAR)
    assert read.view_from[0].at == pytest.approx((50 * FOOT, 0.0), abs=NEAR)
    assert read.view_from[0].eye == pytest.approx(1.6, abs=NEAR)


REFUSED = {
    "a building without a name": (
        WHOLE,
        CODED.replace("bldg shed", "building corner"),
        'shots.csv row 14: a corner of a building has no name. Code it with its name, such as "building corner house".',
    ),
    "a building of two corners": (
        WHOLE,
        CODED.replace("bldg shed", ""),
        'shots.csv row 12: the building "shed" has 2 coded corners. Accepted: three corners or more, in order',
    ),
    "ground without a name": (
        WHOLE,
        CODED.replace("keep clear drain", "keep clear"),
        "a corner of a ground to keep clear",
    ),
    "a breakline of one point": (
        WHOLE,
        CODED.replace("62,44,5,100.5,breakline top", ""),
        "shots.csv row 19: its breakline has this one point only. Accepted: two points or more.",
    ),
    "codes that are not there": (
        SITE.replace('"bed.csv"', '"codes"'),
        CODED.replace("utline", "tline").replace("OUTLINE", ""),
        "site.toml [bed] outline: no point or line of the survey is coded as outline. Code the points of the bed line",
    ),
    "an outline of two points": (
        WHOLE,
        CODED.replace("outline +", "").replace("Bed outline", ""),
        "site.toml [bed] outline: an outline needs at least 3 different points; this has 2.",
    ),
    "a tree at no point": (
        SITE.replace("[31.0, 22.5]", '"T22"'),
        CODED,
        'site.toml [[tree]] 2 "bur oak" at: "T22" is no point of the survey. Did you mean "22"? Accepted: [x, y]',
    ),
    "no place for a tree": (
        WHOLE,
        CODED.replace("tree Bur Oak", ""),
        'site.toml [[tree]] 2 "bur oak" at: this is missing. Add at = [31.0, 22.5].',
    ),
}


@pytest.mark.parametrize("case", REFUSED)
def test_codes_that_mark_nothing_whole_are_refused(tmp_path: Path, case: str) -> None:
    site, shots, message = REFUSED[case]
    assert message in refusal(tmp_path, site, {"shots.csv": shots})


@pytest.mark.parametrize(
    ("code", "marks"),
    [
        ("BL12", (Mark("breakline", "12"),)),
        ("bl-top of wall", (Mark("breakline", "top"),)),
        ("BL", (Mark("breakline"),)),
        ("tree 2 26 in", (Mark("tree", "2", "26 in"),)),
        ('tree red maple, 14"', (Mark("tree", "red maple", '14"'),)),
        ("Tree bur oak (18 in)", (Mark("tree", "bur oak", "18 in"),)),
        ("outline+BL3+not ground", (Mark("outline"), Mark("breakline", "3"), Mark("no ground"))),
        ("BM 2", (Mark("no ground"),)),
        ("control point", (Mark("no ground"),)),
        *(
            (remark, ())
            for remark in ("", "black oak", "blue", "tree", "outlined", "lot line", "bmx", "wall", "ground")
        ),
    ],
)
def test_a_code_is_a_mark_or_a_remark(code: str, marks: tuple[Mark, ...]) -> None:
    assert marks_of(code) == marks


@pytest.mark.parametrize(
    ("code", "meant"),
    [
        ("brakeline 1", "breakline"),
        ("Outlne", "outline"),
        ("outline + bulding corner shed", "building"),
        ("TREE", "tree bur oak 26 in"),
        ("benchmrk", "benchmark"),
    ],
)
def test_a_slip_in_a_code_is_said(tmp_path: Path, code: str, meant: str) -> None:
    site = coded(tmp_path, shots=CODED.replace("100.90,wall", f"100.90,{code}"), site=SITE)
    assert f'shots.csv: the code "{code}" is taken for a remark; for a mark, write "{meant}".' in site.survey.notes


@pytest.mark.parametrize(
    "code", ["wall", "street", "outlet", "top of bank", "GS", "treated post", "BL1", "tree oak", ""]
)
def test_a_remark_or_a_mark_is_no_slip(code: str) -> None:
    assert slip_of(code) == ""


def test_a_point_whose_name_is_another_s_too_places_nothing(tmp_path: Path) -> None:
    twice = CODED.replace("\n22,31,22.5", "\n21,31,22.5")
    line = 'accuracy = "0.02 ft"'
    broken = WHOLE.replace(line, f'{line}\nbreaklines = [["21", "1"]]')
    assert 'breaklines: "21" is the name of several points. Give two points two names.' in refusal(
        tmp_path, broken, {"shots.csv": twice}
    )
    placed = SITE.replace("at       = [44.0, 12.0]", 'at       = "21"')
    assert 'at: "21" is the name of several points. Accepted: [x, y]' in refusal(tmp_path, placed, {"shots.csv": twice})
