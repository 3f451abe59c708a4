"""Texts that break readers: depth without end, numbers of thousands of digits, signs that act, too much of anything."""

from __future__ import annotations

import json
import resource
import time
from pathlib import Path

import pytest
from invented_yard import BED, SHOTS, SITE, refusal, spoiled, yard

from terrain.errors import MOST_TOLD, InputError
from terrain.plain import plain
from terrain.site.read import read_site
from terrain.units import as_written, parse_length, parse_share, parse_slope, parse_volume

HARD = 10.0  # seconds in which everything is answered or refused


def told(folder: Path, site: str | bytes = SITE, **files: str | bytes) -> str:
    """What a site folder is answered with, in time: the refusal, or "read"."""
    for name, text in {"shots.csv": SHOTS, "bed.csv": BED, **files}.items():
        data = text if isinstance(text, bytes) else text.encode("utf-8", "surrogatepass")
        (folder / name).write_bytes(data)
    (folder / "site.toml").write_bytes(site if isinstance(site, bytes) else site.encode("utf-8", "surrogatepass"))
    start = time.monotonic()
    try:
        read_site(folder / "site.toml")
    except InputError as error:
        message = str(error)
        lines = message.split("\n")  # several slips, each on a line of its own
        assert len(lines) <= MOST_TOLD + 1
        assert all(plain(line) == line and len(line) < 2000 for line in lines)
        return message
    else:
        return "read"
    finally:
        assert time.monotonic() - start < HARD


# The site file

SITES = {
    "lists without end": ("x = " + "[" * 50_000, "without end"),
    "tables without end": ("x = " + "{ a = " * 50_000, "without end"),
    "lists closed again": ("name = " + "[" * 60 + "]" * 60, "more than 32 deep"),
    "a dotted key": (".".join("a" * 40) + " = 1", "more than 16 dots"),
    "a long dotted key": (".".join(["a"] * 200_000) + " = 1", "more than 16 dots"),
    "a number of 5,000 digits": ("name = " + "9" * 5000, "thousands of digits"),
    "hexadecimal of 10,000 digits": ('units = "ft"\nname = 0x' + "f" * 10_000, "too large to show is not a text"),
    "a table of a long name": (f"units = 'ft'\n[{'x' * 100_000}]", "is not a known key"),
    "a line of half a million signs": ('name = "' + "x" * 500_000, "not valid TOML"),
    "keys that look alike": ('name = "a"\n"na\\u200bme" = "b"', "signs that nobody sees"),
    "more trees than anybody has": ('units = "ft"\n' + '[[tree]]\nname = "t"\n' * 1001, "1,001 of them"),
}


@pytest.mark.parametrize("case", SITES)
def test_a_site_file_that_breaks_a_parser_is_refused(tmp_path: Path, case: str) -> None:
    text, words = SITES[case]
    assert words in told(tmp_path, text)


def test_a_link_that_is_called_a_site_file_gives_no_line_away(tmp_path: Path) -> None:
    (tmp_path / "secret").write_text("root:x:0:0:somebody:/root", encoding="utf-8")
    (tmp_path / "site.toml").symlink_to("secret")
    with pytest.raises(InputError, match="not valid TOML") as fault:
        read_site(tmp_path / "site.toml")
    assert "somebody" not in str(fault.value)


def test_measures_of_any_length_take_no_time() -> None:
    start = time.monotonic()
    for text in ("9" * 5000, "9" * 400 + " ft", "1/" + "9" * 5000 + " in", "1 " * 50_000, "." * 100_000, "9" * 200_000):
        for value in (text, f"-{text}", f"{text}:1", f"{text} %"):
            for read in (lambda v: parse_length(v, "ft", ""), lambda v: parse_volume(v, "ft", ""), _share, _slope):
                with pytest.raises(InputError):
                    read(value)
    assert time.monotonic() - start < 2.0


def _share(value: str) -> float:
    return parse_share(value, "")


def _slope(value: str) -> float:
    return parse_slope(value, "")


@pytest.mark.parametrize(
    "value",
    [10**5000, -(10**400), [10**5000], {"a": -(10**5000)}],
    ids=["5,000 digits", "400", "in a list", "in a table"],
)
def test_a_whole_number_of_any_size_can_be_shown_and_refused(value: object) -> None:
    assert len(as_written(value)) < 100
    with pytest.raises(InputError, match="is not a length"):
        parse_length(value, "m", "")  # type: ignore[arg-type]


# Signs that act

ACTING = "\x1b[31m\x07\x9b\u202eevil\u2066\u200f\u200b\ufeff\U000e0041"


@pytest.mark.parametrize("sign", ["\\u001b[2J", "\\u202e", "\\u2066", "\\u009b", "\\u200b", "\\u0007", "\\u2028"])
def test_no_name_carries_a_sign_that_acts(tmp_path: Path, sign: str) -> None:
    site = yard(tmp_path, spoiled('name     = "bur oak"', f'name     = "bur{sign} oak"'))
    assert site.tree[1].name in ("bur oak", "bur[2J oak", "bur  oak")
    message = refusal(tmp_path, spoiled('units = "ft"', f'units = "furlong{sign}"'))
    assert plain(message) == message


def test_texts_of_tables_and_of_geojson_are_plain(tmp_path: Path) -> None:
    rows = SHOTS.replace("wall", f"wall{ACTING}")
    survey = yard(tmp_path, SITE, {"shots.csv": rows}).survey
    assert "wall[31mevil" in survey.codes
    points = [
        {
            "type": "Feature",
            "properties": {"name": f"p{ACTING}{i}", "code": "\ud800 half"},
            "geometry": {"type": "Point", "coordinates": [5.0 * i, 4.0 * i * i, 100.0]},
        }
        for i in range(5)
    ]
    text = json.dumps({"type": "FeatureCollection", "features": points})
    survey = yard(tmp_path, SITE.replace("shots.csv", "s.geojson"), {"s.geojson": text}).survey
    assert survey.names[1] == "p[31mevil1"
    assert set(survey.codes) == {"half"}


def test_letters_of_every_script_stay() -> None:
    for word in ("Ahornstraße", "می‌خواهم", "क्‍ष", "樱花", "O'Neil – 3½″", "👩‍🌾"):
        assert plain(word) == word


def test_a_name_has_a_length(tmp_path: Path) -> None:
    assert len(yard(tmp_path, spoiled("bur oak", "o" * 200)).tree[1].name) == 200
    assert "201 signs. Accepted: up to 200 signs." in refusal(tmp_path, spoiled("bur oak", "o" * 201))


# GeoJSON of wrong kinds


def feature(kind: object, coordinates: object, **more: object) -> str:
    shape = {"type": kind, "coordinates": coordinates, **more}
    return json.dumps({"type": "FeatureCollection", "features": [{"type": "Feature", "geometry": shape}] * 3})


GEOJSON = {
    "a type that is a list": feature(["Point"], [1, 2, 3]),
    "a type that is a table": feature({}, [1, 2, 3]),
    "no type": feature(None, [1, 2, 3]),
    "coordinates that are a text": feature("Point", "1,2,3"),
    "coordinates that are tables": feature("Point", [{}, {}, {}]),
    "coordinates of 400 digits": feature("Point", [10**400, 1, 1]),
    "a line of numbers": feature("LineString", [1, 2, 3]),
    "a polygon of tables": feature("Polygon", [{"a": 1}]),
    "a polygon that is a number": feature("Polygon", 7),
    "many that are one": feature("MultiPoint", 7),
    "a collection of a number": feature("GeometryCollection", None, geometries=7),
    "a collection of texts": feature("GeometryCollection", None, geometries=["a"]),
    "features that are a number": '{"type": "FeatureCollection", "features": 7}',
    "properties that are a list": '{"type": "Feature", "properties": [1], "geometry": 3}',
    "no number": feature("Point", [float("nan"), 1, float("inf")]),
    "depth without end": '{"type": ' + "[" * 100_000,
    "a number of 5,000 digits": '{"type": "Point", "coordinates": [' + "9" * 5000 + ", 1, 1]}",
    "collections in collections": '{"type":"GeometryCollection","geometries":[' * 40 + "]}" * 40,
    "a list": "[1, 2, 3]",
    "half a pair": '{"type": "\\ud800", "coordinates": []}',
}


@pytest.mark.parametrize("case", GEOJSON)
@pytest.mark.parametrize("key", ["shots", "outline", "line"])
def test_geojson_of_the_wrong_kind_is_refused(tmp_path: Path, case: str, key: str) -> None:
    name = "x.geojson"
    site = {
        "shots": SITE.replace("shots.csv", name),
        "outline": SITE.replace("bed.csv", name),
        "line": f'{SITE}\n[[walk]]\nname = "w"\nline = "{name}"\nwidth = "3 ft"\n',
    }[key]
    assert told(tmp_path, site, **{name: GEOJSON[case]}) != "read"


# Too much of anything


def test_three_thousand_copies_of_a_shot_are_told_in_a_few_words(tmp_path: Path) -> None:
    rows = SHOTS + SHOTS.splitlines()[1] + "\n"
    site = yard(tmp_path, SITE, {"shots.csv": rows + (SHOTS.splitlines()[1] + "\n") * 3000})
    assert len(site.survey.shots) == 5
    notes = [note for note in site.survey.notes if "left out" in note]
    assert len(notes) == 6
    assert "2,996 more shots repeat others" in notes[-1]
    assert told(tmp_path, SITE, **{"shots.csv": rows * 1000}) != ""


def test_three_hundred_thousand_rows_are_refused_in_time_and_memory(tmp_path: Path) -> None:
    rows = "x,y,elevation\n" + "".join(f"{i % 997}.25,{i // 997}.5,100.{i % 89}\n" for i in range(300_000))
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    assert "300,000 rows, more than 20,000" in told(tmp_path, SITE, **{"shots.csv": rows})
    assert resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before < 800_000  # KiB


@pytest.mark.parametrize("key", ["bed.csv", "line"])
def test_an_outline_or_a_line_has_so_many_corners(tmp_path: Path, key: str) -> None:
    corners = "x,y\n" + "".join(f"{i},{i % 2}\n" for i in range(10_001))
    if key == "line":
        site = f'{SITE}\n[[walk]]\nname = "w"\nline = "w.csv"\nwidth = "3 ft"\n'
        assert "10,001 points" in told(tmp_path, site, **{"w.csv": corners})
    else:
        assert "10,001 corners" in told(tmp_path, SITE, **{"bed.csv": corners})


def test_long_fields_and_odd_bytes_in_a_table_are_answered(tmp_path: Path) -> None:
    for cell in ("x" * 200_000, '"' * 50_001, '"open', "9" * 5000, "1" + "0" * 400, "\0", "1e999", "\x1b[2J"):
        told(tmp_path, SITE, **{"shots.csv": SHOTS.replace("wall", cell)})
        told(tmp_path, SITE, **{"shots.csv": SHOTS.replace("100", cell, 1)})
        told(tmp_path, SITE, **{"bed.csv": BED.replace("14", cell, 1)})
