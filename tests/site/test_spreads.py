"""A figure written with its spread: read in SI, narrower than the tables, refused in words where it is nonsense."""

from __future__ import annotations

from pathlib import Path

import pytest
from examples_drawn import drawn
from hypothesis import given, settings, strategies as st

from terrain.errors import InputError
from terrain.site.factors import half, shrink_range, swell_range
from terrain.site.model import Site, Soil
from terrain.site.read import build_site
from terrain.site.spreads import sod_deviation, soil_spreads

INCH = 0.0254
POUND, YARD3 = 0.45359237, 0.9144**3
FIELDS = {
    "name": "Invented",
    "units": "ft",
    "survey": {"shots": [[0, 0, 100], [40, 0, 100.2], [40, 30, 100.6], [0, 30, 100.1], [20, 15, 100.3]]},
    "berm": {"max_slope": "4:1", "crest": [[20, 15, "12 in"]]},
}
OUTLINE = [[10, 8], [30, 8], [30, 22], [10, 22]]


def a_site(soil: dict[str, object] | None = None, bed: dict[str, object] | None = None) -> Site:
    tables = {"soil": soil or {}, "bed": {"outline": OUTLINE, **(bed or {})}}
    return build_site({**FIELDS, **tables}, Path())


@pytest.mark.parametrize("written", ["18 % +- 3 %", "18 +- 3 %", "0.18 +- 0.03", "18 % ± 3 %", "18%+/-3%"])
def test_a_spread_is_half_the_width_of_the_range(written: str) -> None:
    soil = a_site({"swell": written}).soil
    assert soil.swell == pytest.approx(0.18, abs=1e-12)
    assert soil_spreads(soil)["swell"] == pytest.approx(0.03, abs=1e-12)


@pytest.mark.parametrize("written", ["2 in +- 1/4 in", "2 +- 1/4 in", "5.08 cm ± 0.635 cm"])
def test_sod_has_a_spread_in_any_unit(written: str) -> None:
    bed = a_site(bed={"sod": written}).bed
    assert (bed.sod, bed.sod_spread) == pytest.approx((2 * INCH, INCH / 4), rel=1e-9)
    # Even between its ends: the width over the root of twelve.
    assert sod_deviation(bed.sod, bed.sod_spread) == pytest.approx(INCH / 2 / 12**0.5, rel=1e-9)


def test_every_other_figure_of_the_soil_may_have_one() -> None:
    soil = a_site(
        {"settlement": "8 % +- 2 %", "reuse": "70 % +- 20 %", "lost": "2 % +- 1 %", "shrink": "12 % +- 2 %"}
    ).soil
    spreads = soil_spreads(soil)
    assert [spreads[key] for key in ("settlement", "reuse", "lost", "shrink")] == pytest.approx([0.02, 0.2, 0.01, 0.02])
    heavy = a_site({"unit_weight": "2200 lb/cu yd +- 150 lb/cu yd"}).soil
    assert heavy.unit_weight_spread == pytest.approx(150 * POUND / YARD3, rel=1e-9)


def test_a_spread_of_a_shrink_of_the_placed_volume_is_turned_with_it() -> None:
    # 25 % give or take 2 of the placed volume leaves 1 / 1.27 to 1 / 1.23 of the bank volume.
    soil = a_site({"shrink": "25 % +- 2 %", "shrink_of": "placed"}).soil
    assert 2 * soil_spreads(soil)["shrink"] == pytest.approx(1 / 1.23 - 1 / 1.27, rel=1e-3)


@pytest.mark.parametrize("kind", ["loam", "clay", "sand", "topsoil", "our own mix"])
@pytest.mark.parametrize("placing", [None, "by hand", "by machine"])
@settings(max_examples=drawn(10))  # of each of fifteen
@given(share=st.floats(0.0, 0.49))
def test_what_a_supplier_says_is_always_surer_than_the_table(kind: str, placing: str | None, share: float) -> None:
    way = {} if placing is None else {"placing": placing}
    soil = a_site({"kind": kind, "swell": share, "shrink": share, **way}).soil
    told = soil_spreads(soil)
    assert told["swell"] < half(swell_range(kind))
    assert told["shrink"] < half(shrink_range(kind, soil.placing))


def test_the_very_middle_of_the_table_is_surer_when_somebody_says_it() -> None:
    assert soil_spreads(a_site({"swell": "22.5 %"}).soil)["swell"] == pytest.approx(0.0625)
    assert soil_spreads(a_site().soil)["swell"] == pytest.approx(0.125)
    assert soil_spreads(Soil())["swell"] == pytest.approx(0.125)


@pytest.mark.parametrize(
    ("table", "written", "words"),
    [
        ("soil", {"swell": "18 % +- 3"}, r"\[soil\] swell: .*does not say what its spread is in"),
        ("soil", {"swell": "18 % +-"}, r"\[soil\] swell: .*is not a figure and its spread.*Accepted"),
        ("soil", {"swell": "+- 3 %"}, r"\[soil\] swell: .*is not a figure and its spread"),
        ("soil", {"swell": "18 % +- 3 % +- 1 %"}, r"\[soil\] swell: .*is not a figure and its spread"),
        ("soil", {"swell": "18 % +- -3 %"}, r"\[soil\] swell: .*spread under nothing"),
        ("soil", {"swell": "18 % +- much"}, r"\[soil\] swell"),
        ("soil", {"swell": "18 % +- 20 %"}, r"\[soil\] swell: .*below nothing"),
        (
            "soil",
            {"swell": "18 % +- 13 %"},
            r"\[soil\] swell: .*less sure than .* range of loam, 10 to 35 %",
        ),
        ("soil", {"settlement": "2 % +- 3 %"}, r"\[soil\] settlement: the spread reaches below nothing"),
        ("soil", {"truck": "10 cu yd +- 1 cu yd"}, r"\[soil\] truck: .*changes nothing here"),
        ("soil", {"placing": "by crane"}, r'\[soil\] placing: "by crane" is no way of placing soil.*"by hand"'),
        ("bed", {"sod": "2 in +- 3 in"}, r"\[bed\] sod: the spread reaches below nothing"),
        ("bed", {"mulch": "3 in +- 1 in"}, r"\[bed\] mulch: .*changes nothing here.*sod"),
    ],
)
def test_nonsense_is_refused_in_words(table: str, written: dict[str, object], words: str) -> None:
    with pytest.raises(InputError, match=words):
        a_site(**{table: written})


@pytest.mark.parametrize(
    ("placing", "shrink", "settlement"),
    # Middles: by hand 0 to 1 - 0.80 x 95 / 85, and 5 to 10 %; by machine 10 to 20 %, and 5 % as laid in layers.
    [("by hand", (1 - 0.80 * 95 / 85) / 2, 0.075), ("by machine", 0.15, 0.05)],
)
def test_placing_says_which_shrink_and_settlement_apply(placing: str, shrink: float, settlement: float) -> None:
    soil = a_site({"placing": placing}).soil
    assert (soil.shrink, soil.settlement) == pytest.approx((shrink, settlement), abs=1e-9)
    stated = a_site({"placing": placing, "settlement": "8 %", "shrink": "6 %"}).soil
    assert (stated.shrink, stated.settlement) == (0.06, 0.08)


def test_without_placing_nothing_settles_that_nobody_stated() -> None:
    assert (a_site().soil.shrink, a_site().soil.settlement) == (0.15, 0.0)
