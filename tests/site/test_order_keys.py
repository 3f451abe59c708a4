"""The keys that say how soil is sold, weighed and wheeled, and where people stand: any unit, one message a slip."""

from __future__ import annotations

from pathlib import Path

import pytest
from invented_yard import FOOT, SITE, refusal, yard

from terrain.errors import InputError
from terrain.units import parse_share, parse_time, parse_unit_weight, parse_weight

POUND = 0.45359237  # kg, exact
YARD3 = (3.0 * FOOT) ** 3  # m3, exact


def with_soil(lines: str) -> str:
    return SITE.replace("settlement =", f"{lines}\nsettlement =")


WRITTEN = {
    'sold_in = "0.5 cu yd"': ("sold_in", 0.5 * YARD3),
    'bag = "1 cu ft"': ("bag", FOOT**3),
    'payload = "10 ton"': ("payload", 20_000 * POUND),
    "payload = 20000": ("payload", 20_000 * POUND),
    'unit_weight = "80 lb/cu ft"': ("unit_weight", 80 * POUND / FOOT**3),
    "unit_weight = 2160": ("unit_weight", 2160 * POUND / YARD3),
    'trip = "2 min 30 s"': ("trip", 150.0),
    "trip = 4": ("trip", 240.0),
    "barrows_at_once = 3": ("barrows_at_once", 3),
    "delivery_price = 60": ("delivery_price", 60.0),
    "bag_price = 4.5": ("bag_price", 4.5),
    "disposal_price = 20": ("disposal_price", 20 / YARD3),
    "mulch_price = 35": ("mulch_price", 35 / YARD3),
    'reuse = "100 %"': ("reuse", 1.0),
    "reuse = 0.4": ("reuse", 0.4),
    'chance = "95 %"': ("chance", 0.95),
}


@pytest.mark.parametrize("line", WRITTEN)
def test_a_key_of_the_order_is_read_in_si(tmp_path: Path, line: str) -> None:
    key, value = WRITTEN[line]
    assert getattr(yard(tmp_path, with_soil(line)).soil, key) == pytest.approx(value, rel=1e-12)


def test_what_is_left_out_keeps_its_stated_default(tmp_path: Path) -> None:
    site = yard(tmp_path)
    assert (site.soil.reuse, site.soil.chance, site.soil.barrows_at_once, site.soil.sold_in) == (1.0, 0.8, 1, None)
    assert (site.bed.topsoil, site.bed.planting, site.bed.sod_leaves, site.bed.mulch_allowance) == (
        0.0,
        None,
        True,
        0.0,
    )
    assert (site.view_from, site.boundary) == ((), None)


def test_the_bed_may_keep_topsoil_and_ask_for_planting_soil(tmp_path: Path) -> None:
    lines = 'topsoil = "4 in"\nplanting = "1 ft"\nsod_leaves = false\nmulch_allowance = "15 %"\nmulch    = "3 in"'
    bed = yard(tmp_path, SITE.replace('mulch    = "3 in"', lines)).bed
    assert (bed.topsoil, bed.planting) == pytest.approx((4 * FOOT / 12, FOOT), abs=1e-12)
    assert (bed.sod_leaves, bed.mulch_allowance) == (False, pytest.approx(0.15))


def test_the_lot_line_and_the_eye_are_read(tmp_path: Path) -> None:
    site = SITE.replace('units = "ft"', 'units = "ft"\nboundary = [[-5, -5], [60, -5], [60, 60], [-5, 60]]')
    read = yard(tmp_path, site + '\n[[view_from]]\nname = "street"\nat = [25, -10]\neye = "5.3 ft"\n')
    assert read.boundary is not None
    assert read.boundary.area == pytest.approx(65**2 * FOOT**2, rel=1e-12)
    assert read.view_from[0].eye == pytest.approx(5.3 * FOOT, abs=1e-12)


REFUSED = {
    'payload = "10 yd"': 'site.toml [soil] payload: "10 yd" is not a weight. Accepted: a number in pound, or',
    "payload = 0": "site.toml [soil] payload: 0 is not above zero.",
    "unit_weight = 80": "site.toml [soil] unit_weight: 80 is 47 kg/m3, which no loose soil weighs. Accepted: 300 to",
    'unit_weight = "80 lb"': 'site.toml [soil] unit_weight: "80 lb" is not a weight of a volume.',
    'trip = "long"': 'site.toml [soil] trip: "long" is not a time. Accepted: a number of minutes, or',
    "barrows_at_once = 0": "site.toml [soil] barrows_at_once: 0 is not a count. Accepted: a whole number from 1",
    "barrows_at_once = 1.5": "site.toml [soil] barrows_at_once: 1.5 is not a count.",
    "delivery_price = -1": "site.toml [soil] delivery_price: -1 is not a price.",
    "reuse = 1.2": "site.toml [soil] reuse: 1.2 is 120 %, out of range.",
    "chance = 0": "site.toml [soil] chance: 0 is no chance. Accepted: between 0 and 100 %",
    "chance = 1": "site.toml [soil] chance: 1 is 100 %, out of range.",
}


@pytest.mark.parametrize("line", REFUSED)
def test_a_key_of_the_order_that_makes_no_sense_is_refused(tmp_path: Path, line: str) -> None:
    assert REFUSED[line] in refusal(tmp_path, with_soil(line))


def test_yes_and_no_are_written_without_quotes(tmp_path: Path) -> None:
    site = SITE.replace('mulch    = "3 in"', 'mulch = "3 in"\nsod_leaves = "no"')
    assert 'site.toml [bed] sod_leaves: "no" is neither yes nor no.' in refusal(tmp_path, site)


def test_a_ton_is_a_short_ton_in_feet_and_unclear_in_metres() -> None:
    assert parse_weight("1 ton", "ft", "") == pytest.approx(2000 * POUND, rel=1e-12)
    assert parse_weight("1 t", "m", "") == pytest.approx(1000.0, rel=1e-12)
    with pytest.raises(InputError, match=r'"1 ton" is not a weight\.'):
        parse_weight("1 ton", "m", "")


def test_a_weight_of_a_volume_is_the_same_however_it_is_written() -> None:
    per_yard = parse_unit_weight("2160 lb/cu yd", "m", "")
    for written in ("80 lb/ft3", "80 lb per cu ft", "2160 lb / yd3"):
        assert parse_unit_weight(written, "ft", "") == pytest.approx(per_yard, rel=1e-12)


def test_minutes_are_meant_where_no_unit_stands() -> None:
    assert parse_time(3, "") == pytest.approx(180.0, abs=1e-12)
    assert parse_share("100 %", "", whole=True) == pytest.approx(1.0, abs=1e-12)
