"""What a first user brings: another encoding, headings in another language, a soil by its texture, several slips."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest

from terrain import InputError, Site, build_site, read_site
from terrain.errors import MOST_TOLD, InputErrors
from terrain.site.soils import SOILS, TEXTURES, soil_factors

SHOTS = "point,x,y,elevation,code\n1,0,0,100.00,Zaun Süd\n2,60,0,100.60,\n3,0,45,101.40,\n4,60,45,102.00,\n"
SITE = """\
name = "yard"
units = "ft"
[survey]
shots = "shots.csv"
{keys}
[bed]
outline = [[10, 10], [40, 10], [40, 30], [10, 30]]
[berm]
max_slope = "4:1"
crest = [[25, 20, "18 in"]]
"""


def site_of(folder: Path, shots: bytes, keys: str = "", more: str = "") -> Site:
    (folder / "shots.csv").write_bytes(shots)
    (folder / "site.toml").write_text(SITE.format(keys=keys) + more, encoding="utf-8")
    return read_site(folder / "site.toml")


@pytest.mark.parametrize(
    ("encoding", "told"),
    [
        ("utf-8", ""),
        ("utf-8-sig", ""),
        ("utf-16", ""),
        ("utf-16-le", "was read as UTF-16"),
        ("utf-16-be", "was read as UTF-16"),
        ("cp1252", "was read as Windows-1252 (Latin-1)"),
        ("latin-1", "was read as Windows-1252 (Latin-1)"),
    ],
)
def test_common_encodings_are_read_and_said(tmp_path: Path, encoding: str, told: str) -> None:
    site = site_of(tmp_path, SHOTS.encode(encoding))
    assert site.survey.codes[0] == "Zaun Süd"
    guessed = [note for note in site.survey.notes if "encoding" in note]
    assert len(guessed) == bool(told)
    assert all(told in note for note in guessed)


def test_a_stated_encoding_is_taken_and_held_to(tmp_path: Path) -> None:
    site = site_of(tmp_path, SHOTS.replace("ü", "Ł").encode("cp1250"), 'encoding = "cp1250"')
    assert site.survey.codes[0] == "Zaun SŁd"
    assert not [note for note in site.survey.notes if "encoding" in note]
    with pytest.raises(InputError, match=r"shots.csv row 2: the byte 0xfc is not utf-8 text. State the right encoding"):
        site_of(tmp_path, SHOTS.encode("cp1252"), 'encoding = "utf-8"')
    for wrong in ('"base64"', '"klingon"', "7"):
        with pytest.raises(InputError, match=r"\[survey\] encoding: .* is no encoding of text"):
            site_of(tmp_path, SHOTS.encode(), f"encoding = {wrong}")


HEADED = SHOTS.replace("point,x,y,elevation,code", "Punkt,Rechtswert (Netz),Hochwert,Höhe [ft],y")
COLUMNS = 'columns = { point = "Punkt", x = "Rechtswert  (netz)", y = "Hochwert", elevation = "Höhe [ft]", code = "y" }'


def test_headings_in_another_language_are_mapped(tmp_path: Path) -> None:
    plain = site_of(tmp_path, SHOTS.encode())
    mapped = site_of(tmp_path, HEADED.encode("latin-1"), COLUMNS)
    assert np.array_equal(mapped.survey.shots, plain.survey.shots)
    assert mapped.survey.codes == plain.survey.codes
    assert mapped.survey.names == plain.survey.names


def test_a_heading_that_is_not_there_is_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r'row 1: no column is called "RL", as \[survey\] columns has it'):
        site_of(tmp_path, SHOTS.encode(), 'columns = { elevation = "RL" }')
    with pytest.raises(InputError, match='"height" is no column of a survey'):
        site_of(tmp_path, SHOTS.encode(), 'columns = { height = "z" }')
    with pytest.raises(InputError, match="names no headings"):
        site_of(tmp_path, SHOTS.encode(), 'columns = ["x"]')


@pytest.mark.parametrize(("texture", "row"), TEXTURES.items())
def test_soils_of_the_textural_triangle_are_taken_as_their_row_and_it_is_said(
    tmp_path: Path, texture: str, row: str
) -> None:
    assert soil_factors(texture.title()) == SOILS[row]
    site = site_of(tmp_path, SHOTS.encode(), more=f'[soil]\nkind = "{texture}"\n')
    as_the_row = site_of(tmp_path, SHOTS.encode(), more=f'[soil]\nkind = "{row}"\n')
    assert (site.soil.swell, site.soil.shrink) == (as_the_row.soil.swell, as_the_row.soil.shrink)
    assert [note for note in site.survey.notes if f"{texture} is taken as {row}, the row of its texture group" in note]


def test_no_word_on_soils_that_the_table_names_or_factors_that_are_stated(tmp_path: Path) -> None:
    for more in ('kind = "clay"', 'kind = "sandy loam"\nswell = 0.2\nshrink = 0.1'):
        assert not [n for n in site_of(tmp_path, SHOTS.encode(), more=f"[soil]\n{more}\n").survey.notes if "soil" in n]


def test_all_slips_of_a_site_and_its_table_are_told_at_once(tmp_path: Path) -> None:
    shots = SHOTS.replace("2,60,0,100.60", "2,sixty,0,100.6o").replace("4,60,45,102.00", "4,60,,102.00")
    more = (
        'colour = "red"\n[[tree]]\nname = "oak"\nat = [1]\ntrunk = "wide"\n[soil]\ntruck = "10 potatoes"\n'
        '[trees]\nrul = "x"\n[bde]\n'
    )
    with pytest.raises(InputErrors) as refusal:
        site_of(tmp_path, shots.encode(), 'level_class = "none"\naccuracy = "much"', more=more)
    told = str(refusal.value).splitlines()
    for words in ("level_class", '"colour" is not a known key', '"rul" is not a known key', '"bde" is not a known key'):
        assert sum(words in line for line in told) == 1, words
    with pytest.raises(InputErrors) as refusal:
        site_of(
            tmp_path,
            shots.encode(),
            more='[[tree]]\nname = "oak"\nat = [1]\ntrunk = "wide"\n[soil]\ntruck = "10 potatoes"\n',
        )
    told = str(refusal.value).splitlines()
    for words in (
        'shots.csv row 3 x: "sixty" is not a length',
        'shots.csv row 3 elevation: "100.6o" is not a length',
        "shots.csv row 5 y: the value is missing",
        '[[tree]] 1 "oak" at: ',
        '[[tree]] 1 "oak" trunk: "wide" is not a length',
        '[soil] truck: "10 potatoes" is not a volume',
    ):
        assert sum(words in line for line in told) == 1, words
    assert len(told) == 6


def test_a_table_of_nothing_but_slips_is_told_in_part_and_counted(tmp_path: Path) -> None:
    rows = "".join(f"{i},a,b,100\n" for i in range(5000))
    with pytest.raises(InputErrors) as refusal:
        site_of(tmp_path, ("point,x,y,elevation\n" + rows).encode())
    told = str(refusal.value).splitlines()
    assert len(told) == MOST_TOLD + 1
    assert told[-1] == f"and {10_000 - MOST_TOLD:,} more."


def test_slips_of_several_files_are_told_at_once(tmp_path: Path) -> None:
    (tmp_path / "levels.csv").write_text("point,bs,is,fs\nBM,four,,\na,,3.1o,\nBM,,,99 ft\n")
    (tmp_path / "ties.csv").write_text("point,from,distance,from 2,distance 2\na,A,,B,9\nb,A,-3,B,\n")
    fields = {
        "name": "yard",
        "units": "ft",
        "survey": {
            "level_book": "levels.csv",
            "benchmark": {"point": "BM", "elevation": 100.0},
            "points": {"A": [0, 0], "B": [50, 0]},
            "shots": "shots.csv",
            "ties": "ties.csv",
        },
        "bed": {"outline": [[10, 10], [40, 10], [40, 30]]},
        "berm": {"max_slope": "4:1", "crest": [[25, 15, "18 in"]]},
    }
    (tmp_path / "shots.csv").write_text("point,x,y,elevation\n1,zero,0,\n")
    with pytest.raises(InputErrors) as refusal:
        build_site(fields, tmp_path)
    told = str(refusal.value)
    for words in (
        "shots.csv row 2 x",
        "levels.csv row 2 bs",
        "levels.csv row 3 is",
        "ties.csv row 2: a tape has no distance",
        "ties.csv row 3",
    ):
        assert words in told
    assert re.search(r"^ties", told, re.MULTILINE)


LEVELS = """\
point,bs,is,fs,note
BM,4.00,,,nail in the walk
c1,,3.10,,outline
c2,,3.00,,outline
c3,,2.90,,outline
c4,,2.80,,outline + tree oak 20 in
g,,3.30,,by the fence
BM,,,4.00,
"""
PLACES = "point,x,y\nc4,10,30\nc1,10,10\nc2,40,10\ng,60,45\nc3,40,30\nh,0,0\n"


def book_site(folder: Path, **tree: object) -> Site:
    (folder / "levels.csv").write_text(LEVELS)
    (folder / "shots.csv").write_text(PLACES)
    survey = {
        "level_book": "levels.csv",
        "benchmark": {"point": "BM", "elevation": 100.0},
        "shots": "shots.csv",
    }
    fields = {
        "name": "yard",
        "units": "ft",
        "survey": survey,
        "bed": {"outline": "codes"},
        "berm": {"max_slope": "4:1", "crest": [[25, 20, "12 in"]]},
        **({"tree": [tree]} if tree else {}),
    }
    return build_site(fields, folder)


def test_codes_of_a_level_book_mark_the_yard_in_its_order(tmp_path: Path) -> None:
    site = book_site(tmp_path)
    corners = np.asarray(site.bed.outline.exterior.coords)[:-1] / 0.3048
    assert {tuple(corner) for corner in corners.round(9)} == {(10, 10), (40, 10), (40, 30), (10, 30)}
    assert site.bed.outline.area / 0.3048**2 == pytest.approx(600.0, rel=1e-9)
    assert [(tree.name, round(tree.trunk / 0.0254, 6)) for tree in site.tree] == [("oak", 20.0)]


@pytest.mark.parametrize("own", [{"girth": "6 ft"}, {"stems": ["8 in", "11 in"]}, {"trunk": "24 in"}])
def test_what_the_site_file_measured_of_a_tree_outweighs_its_code(tmp_path: Path, own: dict[str, object]) -> None:
    (tree,) = book_site(tmp_path, name="oak", **own).tree
    assert tree.at == pytest.approx((10 * 0.3048, 30 * 0.3048))
    assert tree.trunk != pytest.approx(20 * 0.0254, abs=1e-3)
