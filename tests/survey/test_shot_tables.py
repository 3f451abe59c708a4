"""Measurement tables in every shape that loggers and spreadsheets write, and the rows that no one should trust."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, strategies as st
from invented_yard import FOOT, SHOTS, SITE, refusal, yard

from terrain.errors import InputError
from terrain.site.survey import Survey
from terrain.survey.measured import ReadOptions
from terrain.survey.readers.table import read
from terrain.survey.shots import settled_survey

NEAR = 1e-9  # metres
ROWS = [line.split(",") for line in SHOTS.splitlines()]


def table(
    delimiter: str = ",", header: str = "", end: str = "\n", order: tuple[int, ...] = (0, 1, 2, 3, 4), mark: str = "."
) -> str:
    """The invented shots in another shape."""
    rows = [[cell.replace(".", mark) for cell in row] for row in ROWS[1:]]
    lines = [header.split("|") if header else [ROWS[0][i] for i in order]]
    lines += [[row[i] for i in order] for row in rows]
    return end.join(delimiter.join(line) for line in lines) + end


SHAPES: dict[str, str | bytes] = {
    "as it stands": SHOTS,
    "byte-order mark": b"\xef\xbb\xbf" + SHOTS.encode(),
    "Windows line ends": table(end="\r\n"),
    "semicolons": table(";"),
    "semicolons, decimal commas": table(";", mark=","),
    "tabs": table("\t"),
    "upright strokes": table(" | "),
    "upright strokes, decimal commas": table("|", mark=","),
    "a line that names the delimiter": "sep=;\n" + table(";", mark=",", end="\r\n"),
    "two bytes a letter": table("\t", mark=",", end="\r\n").encode("utf-16"),
    "heads of a logger": table(header="P|N|E|Z|D", order=(0, 2, 1, 3, 4)),
    "tabs, decimal commas": table("\t", mark=","),
    "blanks": table("  "),
    "blanks, unit in the header": table(" ", "point|x (ft)|y (ft)|elevation (ft)|code"),
    "other column order": table(order=(3, 4, 2, 0, 1)),
    "easting and northing": table(header="Name|Easting|Northing|Elev|Description"),
    "northing first": table(header="id|N|E|Level|Note", order=(0, 2, 1, 3, 4)),
    "units in the header": table(header="pt|x_ft|y [ft]|Elevation (FT)|code"),
    "blank lines and remarks": "# measured by level\n\n" + SHOTS.replace("\n3,", "\n\n# the lower half\n3,") + "\n\n",
    "rows of delimiters only": SHOTS + ",,,,\n",
    "quoted texts": SHOTS.replace("wall", '"wall"').replace("point", '"point"'),
    "a unit in every value": "\n".join(
        [*SHOTS.splitlines()[:1], *(f'{p},{x} ft,"{y} ft",{z} ft,{c}' for p, x, y, z, c in ROWS[1:])]
    ),
    "columns of another trade": "\n".join(
        [line + (",date" if i == 0 else ",3/4") for i, line in enumerate(SHOTS.splitlines())]
    ),
}


@pytest.mark.parametrize("shape", SHAPES)
def test_the_shape_of_the_table_does_not_change_the_shots(tmp_path: Path, shape: str) -> None:
    survey = yard(tmp_path, files={"shots.csv": SHAPES[shape]}).survey
    expected = np.array([[float(cell) * FOOT for cell in row[1:4]] for row in ROWS[1:]])
    assert np.abs(survey.shots - expected).max() <= NEAR
    assert survey.names == ("1", "2", "3", "4", "5")
    assert survey.codes == tuple(row[4] for row in ROWS[1:])


def test_names_and_codes_may_be_left_out(tmp_path: Path) -> None:
    survey = yard(tmp_path, files={"shots.csv": table(order=(1, 2, 3))}).survey
    assert survey.names == ("row 2", "row 3", "row 4", "row 5", "row 6")
    assert survey.codes == ("",) * 5


def test_a_code_of_several_words_may_stand_last_between_blanks(tmp_path: Path) -> None:
    survey = yard(tmp_path, files={"shots.csv": table(" ").replace("wall", "wall, foot of")}).survey
    assert survey.codes[3] == "wall, foot of"
    assert survey.shots[3] == pytest.approx([0.0, 45 * FOOT, 100.9 * FOOT], abs=NEAR)


def test_a_column_in_inches_keeps_its_own_unit(tmp_path: Path) -> None:
    rows = "\n".join(f"{x},{y},{float(z) * 12}" for _, x, y, z, _ in ROWS[1:])
    survey = yard(tmp_path, files={"shots.csv": f"x,y,elevation (in)\n{rows}\n"}).survey
    assert survey.shots[:, 2] == pytest.approx([float(row[3]) * FOOT for row in ROWS[1:]], abs=NEAR)


REFUSED: dict[str, tuple[str | bytes, str]] = {
    "missing column": (
        table(header="point|x|y|up|code"),
        'shots.csv row 1: no column gives the elevation; the columns were taken so: "point" for point, "x" for x, '
        '"y" for y, '
        '"up" for nothing, "code" for code. '
        "Accepted names: elevation: elevation, elev, z, height, level, rl. "
        'Other headings: name them under [survey], such as columns = { x = "Easting (grid)" }.',
    ),
    "two missing columns": (table(header="point|a|b|z|code"), "no column gives the x or the y"),
    "no header": (
        SHOTS.partition("\n")[2],
        "shots.csv row 1: the first line holds numbers, not the names of the columns. "
        'Add a first line that names the columns, such as "x,y,elevation".',
    ),
    "the same column twice": (
        table(header="point|x|y|elevation|z"),
        'shots.csv row 1: the columns "elevation" and "z" both give the elevation. Keep one of them.',
    ),
    "text for a number": (
        SHOTS.replace("101.40", "n/a"),
        'shots.csv row 4 elevation: "n/a" is not a length. Accepted: a number in ft',
    ),
    "a value left out": (
        SHOTS.replace("101.40", ""),
        "shots.csv row 4 elevation: the value is missing. Accepted: a number in ft.",
    ),
    "a short row": (SHOTS + "6,25\n", "shots.csv row 7 y: the value is missing."),
    "a number that is not finite": (
        SHOTS.replace("101.40", "nan"),
        'shots.csv row 4 elevation: "nan" is not a length.',
    ),
    "decimal commas between commas": (
        table(mark=","),
        "shots.csv row 2: 6 values stand under 5 column names. Quote a text that holds the delimiter; "
        "decimal commas need semicolons between the values.",
    ),
    "both decimal marks": (
        table(";").replace("100.60", "100,60"),
        "shots.csv rows 3 and 2: one writes decimals with a comma, the other with a point.",
    ),
    "metres in the header of a site in feet": (
        table(header="point|x|y|elevation (m)|code"),
        'shots.csv column "elevation (m)": the header says m, but the site is in "ft": mixed units.',
    ),
    "metres in one value": (
        SHOTS.replace("100.60", "30.66 m"),
        'shots.csv row 3 elevation: "30.66 m" is in m, but row 2 is in ft: mixed units in one column.',
    ),
    "two elevations at one place": (
        SHOTS + "6,25,20,101.95,ground\n",
        "shots.csv: row 6 and row 7 stand at the same place (x 25.00, y 20.00) with different elevations, "
        "100.70 ft and 101.95 ft. Keep the right one and name the other in leave_out under [survey], or correct its "
        "place.",
    ),
    "two shots": ("x,y,z\n0,0,100\n50,45,101\n", "shots.csv: 2 shots at different places cannot carry a surface."),
    "three rows at two places": ("x,y,z\n0,0,100\n0,0,100\n50,45,101\n", "shots.csv: 2 shots at different places"),
    "one shot": ("x,y,z\n0,0,100\n", "shots.csv: 1 shot at different places cannot carry a surface."),
    "no shots": ("x,y,z\n", "shots.csv: 0 shots at different places cannot carry a surface."),
    "nothing at all": ("\n\n", "shots.csv: the file holds no rows. Add a first line that names the columns"),
    "all in a line": (
        "x,y,z\n0,0,100\n10,5.001,101\n20,10,102\n30,15,100\n",
        "shots.csv: all 4 shots lie in one line, 0 in wide.",
    ),
    "a slipped decimal": (
        SHOTS.replace("100.90", "1009.0"),
        "shots.csv: the elevations run from 100.00 ft to 1009.00 ft (row 2 to row 5), more than 328.08 ft.",
    ),
    "a place miles away": (
        SHOTS.replace("4,0,45", "4,70000,45"),
        'shots.csv: the shots spread over 70000 ft, more than 6561 ft 8 in. The site\'s units are "ft"',
    ),
    "zeros among the letters": (SHOTS.replace("wall", "wa\0l").encode(), "shots.csv: the file holds NUL characters"),
    "no text at all": (SHOTS.replace("wall", "\1\2\xe7").encode("cp1252"), "is not UTF-8 text. Save the file again"),
    "a cut file of two bytes a letter": (SHOTS.encode("utf-16")[:-1], "is not UTF-8 text. Save the file again"),
    "metres among feet": (
        SHOTS.replace("100.60", "30.66").replace("101.40", "30.91"),
        "shots.csv: row 3, row 4 stand at about 30.79 ft, the other shots at about 100.70 ft. Times 3.281 they agree "
        "with the others, so metres look mixed among feet. Write every elevation in feet; where they are right, give "
        "the datum another zero.",
    ),
    "one elevation in metres, and of a hill": (
        SHOTS.replace(",10", ",110").replace("1100.70", "335.49"),
        "shots.csv: row 6 stands at about 335.49 ft, the other shots at about 1100.75 ft. Times 3.281 it agrees with",
    ),
    "a row in metres throughout": (
        SHOTS.replace("3,50,45,101.40", "3,15.24,13.72,30.91"),
        "shots.csv: row 4 stands at about 30.91 ft, the other shots at about 100.65 ft. Times 3.281 it agrees with",
    ),
    "a workbook": (
        b"PK\x03\x04 and so on",
        "shots.csv: this is a spreadsheet workbook or an archive, not a text file.",
    ),
    "NUL characters": (b"x,y,z\n0,0,\0\n", "shots.csv: the file holds NUL characters"),
}


@pytest.mark.parametrize("case", REFUSED)
def test_a_table_that_cannot_be_trusted_is_refused(tmp_path: Path, case: str) -> None:
    content, message = REFUSED[case]
    assert message in refusal(tmp_path, files={"shots.csv": content})


def test_a_repeated_shot_is_left_out_and_said(tmp_path: Path) -> None:
    survey = yard(tmp_path, files={"shots.csv": SHOTS + "6,25,20,100.72,ground\n7,25.001,20,100.70,ground\n"}).survey
    assert survey.names == ("1", "2", "3", "4", "5")
    assert survey.notes == (
        "shots.csv: row 7 repeats row 6 at x 25.00, y 20.00 and was left out.",
        "shots.csv: row 8 repeats row 6 at x 25.00, y 20.00 and was left out.",
    )


def test_a_shot_built_in_python_that_is_not_finite_is_named() -> None:
    shots = np.array([[0, 0, 1], [1, 0, np.inf], [0, 1, 1.0]])
    with pytest.raises(InputError, match=r"site \[survey\] shots: shot b holds a number that is not finite"):
        settled_survey(Survey(shots, ("a", "b", "c"), ("",) * 3), "m", "site")


coordinates = st.floats(-1e6, 1e6, allow_nan=False)


@given(rows=st.lists(st.tuples(coordinates, coordinates, coordinates), min_size=1, max_size=20))
def test_a_table_that_was_written_reads_back_to_the_last_digit(
    tmp_path_factory: pytest.TempPathFactory, rows: list[tuple[float, float, float]]
) -> None:
    path = tmp_path_factory.mktemp("table") / "shots.csv"
    path.write_text("z;y;x\n" + "\n".join(f"{z!r};{y!r};{x!r}" for x, y, z in rows), encoding="utf-8")
    assert np.array_equal(read(path, "shots.csv", ReadOptions("m", "m")).shots, np.array(rows))


@given(angle=st.floats(0.0, 3.2), east=st.floats(-1e6, 1e6), count=st.integers(3, 30))
def test_shots_along_any_line_are_refused_wherever_it_lies(angle: float, east: float, count: int) -> None:
    along = np.linspace(0.0, 25.0, count)
    shots = np.column_stack([east + along * np.cos(angle), along * np.sin(angle), np.sin(along)])
    survey = Survey(shots, tuple(map(str, range(count))), ("",) * count)
    with pytest.raises(InputError, match=f"all {count} shots lie in one line"):
        settled_survey(survey, "m", "site")


def test_feet_among_metres_are_asked_about_in_a_site_in_metres(tmp_path: Path) -> None:
    site = SITE.replace('units = "ft"', 'units = "m"')
    mixed = SHOTS.replace("100.90", "331.04")
    assert (
        "shots.csv: row 5 stands at about 331.040 m, the other shots at about 100.650 m. Times 0.3048 it agrees with "
        "the others, so feet look mixed among metres. Write every elevation in metres"
    ) in refusal(tmp_path, site, {"shots.csv": mixed})


@pytest.mark.parametrize(
    "levels",
    [
        pytest.param((0.2, 0.7, 1.0, 1.3, 2.2), id="near the datum, where a third of a level is a level too"),
        pytest.param((90.0, 98.0, 105.0, 111.0, 118.0), id="a steep yard"),
        pytest.param((60.0, 99.0, 99.5, 100.0, 100.4), id="a step of another size"),
    ],
)
def test_elevations_of_a_real_yard_do_not_look_mixed(tmp_path: Path, levels: tuple[float, ...]) -> None:
    rows = [row.split(",") for row in SHOTS.splitlines()]
    text = "\n".join(",".join([*row[:3], f"{level}", ""]) for row, level in zip(rows[1:], levels, strict=True))
    survey = read(
        _written(tmp_path, f"point,x,y,elevation,code\n{text}\n"), "s.csv", ReadOptions(site="ft", units="ft")
    )
    settled_survey(Survey(survey.shots, survey.names, survey.codes, 0.006), "ft", "site")


def _written(folder: Path, text: str) -> Path:
    (folder / "s.csv").write_text(text)
    return folder / "s.csv"


def test_one_name_for_two_shots_is_said_once(tmp_path: Path) -> None:
    site = yard(tmp_path, files={"shots.csv": SHOTS.replace("3,50", "2,50")})
    said = 'shots.csv: 1 name stands for more than one shot, such as "2" (row 3 and row 4).'
    assert [note for note in site.survey.notes if "one name" in note or "1 name" in note] == [said]
    assert settled_survey(site.survey, "ft", "site").notes == site.survey.notes
