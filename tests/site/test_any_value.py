"""Whatever stands in a field or a table, the answer is a checked Site or one message of our own."""

from __future__ import annotations

import copy
import math
import tomllib
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given, strategies as st
from invented_yard import SITE, write_yard

from terrain.errors import InputError
from terrain.site.model import Site
from terrain.site.read import build_site
from terrain.survey.measured import ReadOptions
from terrain.survey.readers.table import read

MORE = """
file_units = "ft"
layers     = { shots = ["SPOTS"] }
classes    = [2]
thin_to    = 500
within     = "60 ft"
breaklines = [["1", "2"], [[0, 4, 100], [5, 4, 100]]]
level_class = "third order"
level_run  = "200 ft"
level_floor = "0.02 ft"
tie_bound  = "0.1 ft"
baseline   = ["1", "2"]
benchmark  = { point = "BM", elevation = 100.0 }
points     = { A = [0, 0] }
"""
PLAIN = tomllib.loads(SITE)
FIELDS = tomllib.loads(SITE.replace("[survey]\n", f"[survey]{MORE}"))


def places(value: Any, path: tuple[str | int, ...] = ()) -> list[tuple[str | int, ...]]:
    """The path of every value of the site file, tables and lists included."""
    inner = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    return [path, *(place for key, part in inner for place in places(part, (*path, key)))]


PLACES = [path for path in places(FIELDS) if path]
numbers = st.one_of(st.integers(-(10**30), 10**30), st.floats(), st.sampled_from([0, 1, 0.25, 1e300, -1e300, 5e-324]))
texts = st.one_of(
    st.text(max_size=8),
    st.sampled_from(
        ["1e400 ft", "9" * 400 + " ft", "1/0 in", "0:0", "-%", "12 in", "shots.csv", "..", "/", "\0", "a\nb"]
    ),
)
anything = st.recursive(
    st.one_of(numbers, texts, st.booleans()),
    lambda inner: st.one_of(st.lists(inner, max_size=4), st.dictionaries(st.text(max_size=5), inner, max_size=2)),
    max_leaves=8,
)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_yard(tmp_path_factory.mktemp("yard")).parent


def finite(site: Site) -> bool:
    """Every number that a later stage computes with."""
    heights = [point.height for point in site.berm.crest]
    radii = [length for tree in site.tree for length in (tree.trunk, tree.flare, tree.keep_off or 1.0, *tree.at)]
    soil = [site.soil.swell, site.soil.shrink, site.soil.settlement, site.soil.truck or 1.0, site.berm.soil or 1.0]
    rest = [site.berm.toe or 1.0, site.bed.sod, site.bed.mulch, *site.bed.outline.bounds, site.survey.accuracy]
    return bool(np.isfinite(site.survey.shots).all()) and all(map(math.isfinite, heights + radii + soil + rest))


def answer(fields: Any, folder: Path) -> Site | InputError:
    """The site, or the one kind of error that people may meet."""
    try:
        return build_site(fields, folder)
    except InputError as refused:
        return refused


@given(path=st.sampled_from(PLACES), value=anything)
def test_any_value_anywhere_gives_a_site_or_one_message(folder: Path, path: tuple[Any, ...], value: object) -> None:
    fields: Any = copy.deepcopy(FIELDS)
    part = fields
    for step in path[:-1]:
        part = part[step]
    part[path[-1]] = value
    result = answer(fields, folder)
    if isinstance(result, InputError):
        assert result.where
        assert result.problem
        assert "pydantic" not in str(result)
    else:
        assert finite(result)


@given(path=st.sampled_from([path for path in places(PLAIN) if path and isinstance(path[-1], str)]))
def test_any_key_left_out_gives_a_site_or_a_message_that_names_it(folder: Path, path: tuple[Any, ...]) -> None:
    fields: Any = copy.deepcopy(PLAIN)
    part = fields
    for step in path[:-1]:
        part = part[step]
    del part[path[-1]]
    result = answer(fields, folder)
    assert path[-1] in result.where if isinstance(result, InputError) else finite(result)


@given(content=st.one_of(st.binary(max_size=60), st.text(st.sampled_from("xyzen,;\t \n\"'#(ft)m.0189-"), max_size=80)))
def test_any_bytes_as_a_table_give_shots_or_one_message(folder: Path, content: bytes | str) -> None:
    path = folder / "any.csv"
    path.write_bytes(content if isinstance(content, bytes) else content.encode())
    try:
        shots: object = read(path, "any.csv", ReadOptions("ft", "ft")).shots
    except InputError as refused:
        shots = refused
    assert shots.where.startswith("any.csv") if isinstance(shots, InputError) else np.isfinite(shots).all()
