"""Basins, channels, terraces and retained edges: settled where they are whole, refused by their key where not."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from invented_yard import FOOT, SITE, refusal, yard

from terrain.site.checks import check_site

BASIN = '[[basin]]\nname = "bowl"\ncenter = [30, 20]\nsize = "4 ft"\ndepth = "18 in"\n'
CHANNEL = '[[channel]]\nname = "swale"\nline = [[12, 16], [40, 16]]\nwidth = "1 ft"\ndepth = "6 in"\n'
TERRACE = '[[terrace]]\nname = "seat"\noutline = [[15, 18], [20, 18], [20, 24], [15, 24]]\nheight = "18 in"\n'
EDGE = '[[retained_edge]]\nname = "stones"\nline = [[12, 16], [40, 16]]\nheight = "16 in"\n'


def with_feature(feature: str) -> str:
    return f"{SITE}\n{feature}"


@pytest.mark.parametrize(
    ("size", "area"), [('"4 ft"', math.pi * 4.0), ('["6 ft", "4 ft"]', 24.0)], ids=["round", "rectangle"]
)
def test_a_basin_by_center_and_size_gets_its_outline(tmp_path: Path, size: str, area: float) -> None:
    site = yard(tmp_path, with_feature(BASIN.replace('"4 ft"', size)))
    (basin,) = site.basin
    assert basin.outline is not None
    assert basin.outline.area == pytest.approx(area * FOOT**2, rel=5e-3)  # a circle of 64 chords is 0.2 % short
    assert (basin.outline.centroid.x / FOOT, basin.outline.centroid.y / FOOT) == pytest.approx((30, 20), abs=1e-9)


def test_checking_a_site_twice_changes_nothing(tmp_path: Path) -> None:
    site = yard(tmp_path, with_feature(BASIN + CHANNEL + TERRACE + EDGE))
    again = check_site(site)
    assert again.basin == site.basin
    assert (again.channel, again.terrace, again.retained_edge) == (site.channel, site.terrace, site.retained_edge)


def test_a_line_may_come_from_a_file(tmp_path: Path) -> None:
    files = {
        "line.csv": "x,y\n12,16\n40,16\n",
        "line.geojson": '{"type": "LineString", "coordinates": [[12, 16], [40, 16, 100]]}',
    }
    feature = CHANNEL.replace("[[12, 16], [40, 16]]", '"line.csv"') + EDGE.replace(
        "[[12, 16], [40, 16]]", '"line.geojson"'
    )
    site = yard(tmp_path, with_feature(feature), files)
    expected = ((12 * FOOT, 16 * FOOT), (40 * FOOT, 16 * FOOT))
    assert site.channel[0].line == tuple(pytest.approx(place, abs=1e-9) for place in expected)
    assert site.retained_edge[0].line == tuple(pytest.approx(place, abs=1e-9) for place in expected)


LINE = "[[12, 16], [40, 16]]"
REFUSED = {
    "a basin of no place": (
        BASIN.replace("center = [30, 20]\n", "").replace('size = "4 ft"\n', ""),
        'site.toml [[basin]] 1 "bowl" outline: this is missing. Give the outline, or center and size.',
    ),
    "a basin without size": (
        BASIN.replace('size = "4 ft"\n', ""),
        'site.toml [[basin]] 1 "bowl" size: this is missing.',
    ),
    "a basin without center": (
        BASIN.replace("center = [30, 20]\n", ""),
        'site.toml [[basin]] 1 "bowl" center: this is missing.',
    ),
    "a basin given twice over": (
        BASIN + "outline = [[20, 20], [22, 20], [22, 22]]\n",
        'site.toml [[basin]] 1 "bowl" outline: an outline is given, and a center or size too. Keep one of',
    ),
    "a basin too deep": (
        BASIN.replace('"18 in"', "18"),
        'site.toml [[basin]] 1 "bowl" depth: a depth of 18 ft is more than 9 ft 10 in. A bare number is in ft;',
    ),
    "gravel to the brim": (
        BASIN + 'gravel = "18 in"\n',
        'site.toml [[basin]] 1 "bowl" gravel: 18 in of gravel fill the dig, which is 18 in deep.',
    ),
    "a basin next door": (
        BASIN.replace("[30, 20]", "[300, 20]"),
        'site.toml [[basin]] 1 "bowl" center: it lies outside the yard, 248 ft from it.',
    ),
    "two basins of one name": (BASIN + BASIN, 'site.toml [[basin]] 2 "bowl" name: [[basin]] 1 has the same name.'),
    "a channel of one point": (
        CHANNEL.replace(LINE, "[[12, 16]]"),
        'site.toml [[channel]] 1 "swale" line: [[12, 16]] is not a line. Accepted: two or more points,',
    ),
    "a channel that crosses itself": (
        CHANNEL.replace(LINE, "[[12, 16], [40, 16], [40, 20], [20, 10]]"),
        'site.toml [[channel]] 1 "swale" line: the line crosses itself, and no water runs so.',
    ),
    "a channel that stands still": (
        CHANNEL.replace(LINE, "[[12, 16], [12, 16]]"),
        'site.toml [[channel]] 1 "swale" line: the line repeats the point x 12.00, y 16.00. Leave it out.',
    ),
    "a channel too wide": (
        CHANNEL.replace('"1 ft"', "100"),
        'site.toml [[channel]] 1 "swale" width: a width of 100 ft is more than 16 ft 5 in.',
    ),
    "a channel next door": (
        CHANNEL.replace(LINE, "[[300, 16], [340, 16]]"),
        'site.toml [[channel]] 1 "swale" line: it lies outside the yard, 250 ft from it.',
    ),
    "a line of no file": (
        CHANNEL.replace(LINE, '"no.csv"'),
        'site.toml [[channel]] 1 "swale" line: there is no file "no.csv"',
    ),
    "a terrace without a level": (
        TERRACE.replace('height = "18 in"\n', ""),
        'site.toml [[terrace]] 1 "seat" height: neither height nor elevation is given. Accepted: one of them,',
    ),
    "a terrace of two levels": (
        TERRACE + "elevation = 101\n",
        'site.toml [[terrace]] 1 "seat" height: both height and elevation are.',
    ),
    "a terrace past the bed": (
        TERRACE.replace("[[15, 18], [20, 18], [20, 24], [15, 24]]", "[[5, 18], [15, 18], [15, 24], [5, 24]]"),
        'site.toml [[terrace]] 1 "seat" outline: 50% of the terrace lies outside the bed.',
    ),
    "a terrace in the sky": (
        TERRACE.replace('height = "18 in"', "elevation = 200"),
        'site.toml [[terrace]] 1 "seat" elevation: 200.00 ft is far from the elevations of the shots, 100.00 ft',
    ),
    "an edge outside the bed": (
        EDGE.replace(LINE, "[[12, 5], [40, 5]]"),
        'site.toml [[retained_edge]] 1 "stones" line: it lies outside the bed, 9 ft from it.',
    ),
    "an edge too high": (
        EDGE.replace('"16 in"', "16"),
        'site.toml [[retained_edge]] 1 "stones" height: a height of 16 ft is more than 6 ft 6 1/2 in.',
    ),
}


@pytest.mark.parametrize("case", REFUSED)
def test_a_feature_that_cannot_be_built_is_refused(tmp_path: Path, case: str) -> None:
    feature, message = REFUSED[case]
    assert message in refusal(tmp_path, with_feature(feature))
