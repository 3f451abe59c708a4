"""A stream and its water in a site file: any unit, one message a slip, and what is left out takes its default."""

from __future__ import annotations

from pathlib import Path
from typing import get_type_hints

import pytest
from invented_yard import FOOT, SITE, refusal, yard

from terrain.site.fields import READERS
from terrain.site.model import Site
from terrain.site.streams import LOOKS, Pipe, Pool, PumpPoint, Stream, StreamWater
from terrain.site.written import WrittenAs

INCH = FOOT / 12.0
GALLON = 231.0 * INCH**3  # the US gallon, exact
STREAM = """
[[basin]]
name   = "vault"
center = [14, 12]
size   = ["5 ft", "6 ft"]
depth  = "2 ft"

[[stream]]
name   = "run"
line   = [[26, 22], [22, 18], [16, 12]]
width  = "12 in"
depth  = "6 in"
drops  = [[24, 20, "6 in"], [19, 15, "7 in"]]
pools  = [{ at = [22, 18], size = "3 ft", depth = "6 in" }]
basin  = "vault"

[water]
flow   = "2400 gal/h"
pipe   = { length = "40 ft", size = "2 in", fittings = 5.75 }
pump   = [[0, "18 ft"], ["2100 gal/h", "13.5 ft"], ["4200 gal/h", 0]]
"""


def with_stream(old: str = "", new: str = "") -> str:
    assert old in STREAM
    return SITE + STREAM.replace(old, new)


def test_a_stream_is_read_in_si_and_what_is_left_out_takes_its_default(tmp_path: Path) -> None:
    site = yard(tmp_path, with_stream())
    stream, water = site.stream[0], site.water
    assert stream.line[1] == pytest.approx((22 * FOOT, 18 * FOOT), rel=1e-12)
    assert (stream.width, stream.depth, stream.edge) == pytest.approx((12 * INCH, 6 * INCH, 2 * INCH), rel=1e-12)
    assert (stream.side_slope, stream.roughness, stream.highest_drop) == pytest.approx((1.0, 0.10, 8 * INCH))
    assert stream.drops is not None
    assert [drop.height for drop in stream.drops] == pytest.approx([6 * INCH, 7 * INCH], rel=1e-12)
    (pool,) = stream.pools
    assert (*pool.at, pool.length, pool.width, pool.depth) == pytest.approx(
        (22 * FOOT, 18 * FOOT, 3 * FOOT, 3 * FOOT, 6 * INCH), rel=1e-12
    )
    assert water.flow == pytest.approx(2400 * GALLON / 3600.0, rel=1e-12)
    assert water.pipe is not None
    assert (water.pipe.length, water.pipe.size) == pytest.approx((40 * FOOT, 2 * INCH), rel=1e-12)
    assert (water.pipe.kind, water.pipe.fittings, water.voids, water.intake) == ("smooth", 5.75, 0.4, None)
    assert [point.head for point in water.pump] == pytest.approx([18 * FOOT, 13.5 * FOOT, 0.0], rel=1e-12)
    assert yard(tmp_path, with_stream('drops  = [[24, 20, "6 in"], [19, 15, "7 in"]]\n')).stream[0].drops is None


@pytest.mark.parametrize(
    ("flow", "litres"),
    # A US gallon is 3.785411784 L, an imperial one 4.54609 L, exact.
    [
        ("2400 gal/h", 2400 * 3.785411784 / 3600),
        ("40 gpm", 40 * 3.785411784 / 60),
        ("40 gal per min", 40 * 3.785411784 / 60),
        ("10 imperial gallons/min", 10 * 4.54609 / 60),
        ("150 L/min", 2.5),
        ("9 m3/h", 2.5),
        ("0.1 ft3/s", 2.8316846592),
    ],
)
def test_a_flow_is_read_in_any_unit(tmp_path: Path, flow: str, litres: float) -> None:
    found = yard(tmp_path, with_stream('"2400 gal/h"', f'"{flow}"')).water.flow
    assert found == pytest.approx(litres / 1000.0, rel=1e-9)


def test_a_look_is_a_flow_for_the_width_of_the_lip(tmp_path: Path) -> None:
    # 100 US gallons an hour for an inch of lip, the trade's figure for a full sheet: common practice, no published
    # source; 4.1 L/s for a metre.
    water = yard(tmp_path, with_stream('flow   = "2400 gal/h"', 'look = "Full  sheet"\nlip = "18 in"')).water
    assert water.look == "full sheet"
    assert LOOKS["full sheet"] == pytest.approx(4.14e-3, rel=2e-3)


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ('"2400 gal/h"', "2400", "2400 is not a flow. Accepted: a volume over a time"),
        ('"2400 gal/h"', '"2400 gal"', "is not a flow"),
        ('"2400 gal/h"', '"0 gal/h"', "is no flow of a stream"),
        ('"2400 gal/h"', '"2400 gal/min"', "is no flow of a stream on a mound. Accepted: more than 0 and up to 790"),
        ('"2400 gal/h"', '"2400 gal/h"\nlook = "loud"', "Keep one of the two: flow or look"),
        ('flow   = "2400 gal/h"', 'look = "full shet"', 'Did you mean "full sheet"?'),
        ("fittings = 5.75", "fittings = -1", "[water] pipe fittings: -1 is no sum of loss factors"),
        ("fittings = 5.75", 'kind = "ribbed"', "Accepted: smooth, corrugated"),
        ("fittings = 5.75", "bends = 3", '[water] pipe: "bends" is not a known key'),
        ('["2100 gal/h", "13.5 ft"]', '["2100 gal/h", "19 ft"]', "[water] pump 2: a pump that gives more lifts less"),
        ('[0, "18 ft"], ["2100 gal/h", "13.5 ft"], ', "", "[water] pump: the curve has one point"),
        ('["2100 gal/h", "13.5 ft"]', '["2100 gal/h"]', "[water] pump 2: ['2100 gal/h'] is no point of a pump's curve"),
        ('basin  = "vault"', 'basin = "valt"', 'Did you mean "vault"?'),
        ('basin  = "vault"', 'edge = "6 in"', "Accepted: less than the depth"),
        ('basin  = "vault"', "roughness = 3", "is no roughness of a bed. Accepted: Manning's n from 0.01 to 1"),
        ("[22, 18], [16, 12]]", "[22, 18], [16, 12], [22, 24], [22, 16]]", "the line crosses itself"),
        ('size = "3 ft"', 'size = "1 ft"', "pools 1 size: its sides meet before they are 6"),
        ('size = "3 ft"', 'sise = "3 ft"', 'pools 1: "sise" is not a known key. Did you mean "size"?'),
        (', size = "3 ft"', "", "pools 1 size: this is missing"),
        ('size = "3 ft"', 'size = "10 ft"', "and water stands level. Accepted: a pool within"),
        ("at = [22, 18]", "at = [22, 20]", "pools 1 at: x 22.00, y 20.00 lies"),
        ('[24, 20, "6 in"]', '[24, 22, "6 in"]', "drops 1: x 24.00, y 22.00 lies"),
        ('[24, 20, "6 in"]', '[26, 22, "6 in"]', "drops 1: it lies at the end of the line"),
        ('[24, 20, "6 in"]', '[19.1, 15.1, "6 in"]', "make one of the two"),
        ('[24, 20, "6 in"]', '[24, 20, "6 ft"]', "a drop of"),
        ('width  = "12 in"\n', "", '[[stream]] 1 "run" width: this is missing'),
        ('depth  = "6 in"\n', "dept = 1\n", 'Did you mean "depth"?'),
    ],
)
def test_a_slip_in_a_stream_is_refused_with_what_would_do(tmp_path: Path, old: str, new: str, words: str) -> None:
    assert words in refusal(tmp_path, with_stream(old, new))


EVERY = """
side_slope   = "1:2"
edge         = "1 in"
roughness    = 0.15
highest_drop = "5 in"
"""


def test_every_key_of_a_stream_and_its_water_is_read(tmp_path: Path) -> None:
    text = with_stream('basin  = "vault"\n', f'basin = "vault"{EVERY}').replace(
        "fittings = 5.75", 'kind = "corrugated"'
    )
    site = yard(tmp_path, text + 'lip = "18 in"\nvoids = 0.35\nintake = "9 in"\n')
    stream, water = site.stream[0], site.water
    assert (stream.side_slope, stream.edge, stream.roughness, stream.highest_drop) == pytest.approx(
        (2.0, INCH, 0.15, 5 * INCH), rel=1e-12
    )
    assert (water.lip, water.voids, water.intake) == pytest.approx((18 * INCH, 0.35, 9 * INCH), rel=1e-12)
    assert water.pipe is not None
    assert water.pipe.kind == "corrugated"


@pytest.mark.parametrize("table", [Site, StreamWater, Stream, Pool, Pipe, PumpPoint])
def test_every_way_of_writing_has_a_reader(table: type) -> None:
    hints = get_type_hints(table, include_extras=True).values()
    kinds = {mark.kind for hint in hints for mark in getattr(hint, "__metadata__", ()) if isinstance(mark, WrittenAs)}
    assert kinds <= {*READERS}
