"""The worked case as a yard on file, from its shots to stream.json: within the tolerances that its sources give.

The yard is a plane that falls as the stream of the case does: 20 ft of bed at 4 % on the whole, three drops of 10 in
and three pools of 6 ft2. No bed under a plane falls 4 % throughout, so what follows from it is held to the tolerances
of the case: water under way -20 to +35 %, pump 10 %.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from terrain.files.stream_plain import streams_plain
from terrain.flow import run_site
from terrain.limits import FOOT, INCH
from terrain.site.read import read_site

GALLON = 231.0 * INCH**3
POOL = 'size = ["3 ft", "2.546 ft"], depth = "4 in"'
SITE = f"""
name = "Worked case, invented"
units = "ft"
[survey]
shots = "shots.csv"
[bed]
outline = [[4, 4], [50, 4], [50, 14], [4, 14]]
[berm]
max_slope = "4:1"
crest = [[9, 9, "6 in"]]
[[basin]]
name = "vault"
center = [57, 20]
size = ["6 ft", "5 ft"]
depth = "2 ft"
[[stream]]
name = "run"
line = [[24, 20], [53, 20]]
width = "12 in"
depth = "9 in"
side_slope = "1:1"
drops = [[29, 20, "10 in"], [37, 20, "10 in"], [45, 20, "10 in"]]
pools = [{{ at = [31, 20], {POOL} }}, {{ at = [39, 20], {POOL} }}, {{ at = [47, 20], {POOL} }}]
basin = "vault"
[water]
flow = "2400 gal/h"
lip = "18 in"
pipe = {{ length = "40 ft", size = "2 in", kind = "smooth", fittings = 5.75 }}
voids = 0.40
intake = "9 in"
pump = [[0, "18 ft"], ["2100 gal/h", "13.5 ft"], ["4200 gal/h", 0]]
[grid]
cell = "0.5 ft"
"""


@pytest.fixture(scope="module")
def told(tmp_path_factory: pytest.TempPathFactory) -> dict[str, float]:
    folder: Path = tmp_path_factory.mktemp("case")
    rows = [f"{x}-{y},{x},{y},{100.0 - 0.1138 * x:.4f}" for x in range(0, 71, 7) for y in range(0, 41, 8)]
    (folder / "shots.csv").write_text("\n".join(["point,x,y,elevation", *rows]) + "\n", encoding="utf-8")
    (folder / "site.toml").write_text(SITE, encoding="utf-8")
    stream = streams_plain(run_site(read_site(folder / "site.toml")))["stream"]
    assert isinstance(stream, dict)
    return stream


def test_what_the_case_has_in_closed_form(told) -> None:
    assert told["flow_m3_s"] / (GALLON / 60.0) == pytest.approx(40.0, rel=1e-9)
    assert told["head_over_lip_m"] / INCH == pytest.approx(0.819, abs=1e-3)
    assert told["transit_pools_m3"] / GALLON == pytest.approx(9.2, abs=0.05)
    assert told["transit_pipe_m3"] / GALLON == pytest.approx(7.0, abs=0.05)
    assert told["basin_usable_m3"] / GALLON == pytest.approx(112.2, abs=0.06)
    assert told["friction_m"] / FOOT == pytest.approx(2.36, abs=6e-3)


def test_what_follows_from_the_bed_at_its_tolerance(told) -> None:
    for key, unit, figure in (
        ("transit_m3", GALLON, 36.7),
        ("transit_m3_low", GALLON, 29.2),
        ("transit_m3_high", GALLON, 48.9),
        ("level_drop_m", INCH, 4.9),
    ):
        assert 0.80 * figure <= told[key] / unit <= 1.35 * figure, key
    for key, unit, figure in (("static_lift_m", FOOT, 5.0), ("head_m", FOOT, 7.36), ("power_w", 1.0, 158.0)):
        assert told[key] / unit == pytest.approx(figure, rel=0.10), key
    pump = told["pump"]
    assert isinstance(pump, dict)
    assert pump["flow_m3_s"] / (GALLON / 60.0) == pytest.approx(50.4, rel=0.10)


def test_its_drops_and_its_fall_are_those_of_the_case(told) -> None:
    sills = told["sills"]
    assert isinstance(sills, list)
    assert [sill["drop_m"] / INCH for sill in sills if sill["drop_m"]] == pytest.approx([10.0] * 3)
    fall = sills[0]["elevation_m"] - sills[-1]["elevation_m"]
    assert fall / FOOT == pytest.approx(20.0 * 0.04 + 2.5, rel=0.02)
