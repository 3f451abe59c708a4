"""One invented yard, written in feet or in metres, and the ways to spoil one line of it."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import pytest

from terrain.errors import InputError
from terrain.site.model import Site
from terrain.site.read import read_site

FOOT = 0.3048  # metres, exact

SITE = """\
name  = "Alder Bend, front bed"
units = "ft"

[survey]
shots    = "shots.csv"
accuracy = "0.02 ft"

[bed]
outline  = "bed.csv"
sod      = "2 in"
mulch    = "3 in"

[[tree]]
name     = "red maple"
at       = [44.0, 12.0]
trunk    = "14 in"

[[tree]]
name     = "bur oak"
at       = [31.0, 22.5]
trunk    = "26 in"
flare    = "2.1 ft"
keep_off = "5 ft"

[trees]
rule     = "1.5 ft per inch"

[[keep_clear]]
name     = "front walk"
outline  = [[0, 0], [3, 0], [3, 30], [0, 30]]

[[building]]
name     = "house"
outline  = [[0, 40], [30, 40], [30, 60], [0, 60]]
floor    = 101.9

[berm]
max_slope = "4:1"
crest     = [[18, 20, "22 in"], [26, 24, "30 in"], [37, 21, "14 in"]]
soil      = "14 cu yd"
toe       = "2 ft"
gentle_side = "south"

[soil]
kind       = "loam"
settlement = "8 %"
truck      = "10 cu yd"
barrow     = "3 cu ft"
price      = 42.0

[grid]
cell = "0.25 ft"
"""
SHOTS = """\
point,x,y,elevation,code
1,0,0,100.00,ground
2,50,0,100.60,ground
3,50,45,101.40,ground
4,0,45,100.90,wall
5,25,20,100.70,ground
"""
BED = "x,y\n10,14\n45,14\n45,30\n10,30\n"


def write_yard(folder: Path, site: str = SITE, files: Mapping[str, str | bytes] | None = None) -> Path:
    """Write the site file and its measurement files; `files` replaces or adds some by name."""
    for name, content in {"shots.csv": SHOTS, "bed.csv": BED, **(files or {})}.items():
        (folder / name).write_bytes(content if isinstance(content, bytes) else content.encode())
    path = folder / "site.toml"
    path.write_text(site, encoding="utf-8")
    return path


def spoiled(line: str, instead: str) -> str:
    """The site file with one piece of text replaced."""
    assert SITE.count(line) == 1, f"{line!r} stands {SITE.count(line)} times in the site file"
    return SITE.replace(line, instead)


def yard(folder: Path, site: str = SITE, files: Mapping[str, str | bytes] | None = None) -> Site:
    return read_site(write_yard(folder, site, files))


def refusal(folder: Path, site: str = SITE, files: Mapping[str, str | bytes] | None = None) -> str:
    """The one message with which the yard is refused, less the folder's path."""
    path = write_yard(folder, site, files)
    with pytest.raises(InputError) as refused:
        read_site(path)
    message = str(refused.value).replace(f"{folder}/", "")
    for word in ("pydantic", "validation error", "Traceback", "input_value", "NoneType"):
        assert word not in message
    return message
