"""Rod readings that stand for elevations are told before all else, and which way the ground falls is always said."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from odd_yards import odd_sites
from random_sites import ground_on
from shapely.geometry import box

from terrain import read_site
from terrain.errors import InputError
from terrain.grid import Grid
from terrain.ground import Ground
from terrain.ground.lie import lie_of
from terrain.review.ground import upside_down_findings
from terrain.site.model import Building, GridSpec, Site
from terrain.site.survey import Survey

FOOT = 0.3048
FROM = {"ft": 100.0 * FOOT, "m": 30.0}


def bare(site: Site, shots: np.ndarray) -> Site:
    """The yard with other shots from a file, and nothing else that has an elevation."""
    survey = replace(site.survey, shots=shots, file="shots.csv", breaklines=())
    return replace(site, survey=survey, building=(), terrace=(), grid=GridSpec())


def plane(site: Site) -> Ground:
    """The plane of least squares through the shots, on a coarse grid: all that the words on the fall need."""
    west, south, east, north = site.bed.outline.bounds
    grid = Grid(west, south, 0.25, int((east - west) / 0.25) + 2, int((north - south) / 0.25) + 2)
    shots = site.survey.shots
    terms = np.column_stack([shots[:, :2], np.ones(len(shots))])
    tilt = np.linalg.lstsq(terms, shots[:, 2], rcond=None)[0]
    return ground_on(grid, (grid.nodes @ tilt[:2] + tilt[2]).reshape(grid.shape))


def test_rod_readings_of_forty_yards_do_not_pass_for_elevations() -> None:
    done = 0
    for _, site in odd_sites(range(60)):
        down = site.survey.shots.copy()
        down[:, 2] = down[:, 2].max() + 0.3 - down[:, 2]
        readings = bare(site, down)
        if down[:, 2].max() > 4.8:
            continue  # nobody reads this off a rod from one place
        *alike, finding = upside_down_findings(readings, plane(readings))
        assert all("no rod reads so" in one.text for one in alike)
        assert finding.level == "caution"
        assert "rod readings" in finding.text
        assert "falls" in finding.text or "level" in finding.text
        done += 1
    assert done >= 40


def test_elevations_over_a_datum_and_elevations_beside_a_floor_are_left_in_peace() -> None:
    _, site = next(iter(odd_sites([7])))
    high = bare(site, site.survey.shots + np.array([0.0, 0.0, 30.0]))
    assert not list(upside_down_findings(high, plane(high)))
    low = bare(site, site.survey.shots - np.array([0.0, 0.0, site.survey.shots[:, 2].min() - 0.2]))
    ground = plane(low)
    assert list(upside_down_findings(low, ground))
    west, south, _, _ = site.bed.outline.bounds
    house = Building("house", box(west - 9.0, south - 9.0, west - 5.0, south - 5.0), 0.9)
    assert not list(upside_down_findings(replace(low, building=(house,)), ground))


@pytest.mark.parametrize("turn", range(8))
def test_the_fall_is_told_by_the_side_it_goes_to(turn: int) -> None:
    """A plane of 5 % in eight directions; a house stands uphill and a street lies downhill."""
    sides = ("east", "north-east", "north", "north-west", "west", "south-west", "south", "south-east")
    way = np.array([np.cos(turn * np.pi / 4.0), np.sin(turn * np.pi / 4.0)])
    _, site = next(iter(odd_sites([7])))
    middle = np.array(site.bed.outline.centroid.coords[0])
    places = middle + 14.0 * np.random.default_rng(turn).uniform(-1.0, 1.0, (40, 2))
    shots = np.column_stack([places, 20.0 - 0.05 * (places - middle) @ way])
    names = tuple(str(k) for k in range(40))
    survey = Survey(shots, names, ("",) * 40, file="shots.csv")
    east, north = middle - 18.0 * way
    house = Building("house", box(east - 1.0, north - 1.0, east + 1.0, north + 1.0))
    planar = replace(site, survey=survey, building=(house,), tree=(), thing=(), view_from=(), grid=GridSpec())
    lie = lie_of(planar, plane(planar))
    assert lie.slope == pytest.approx(0.05, abs=1e-3)
    assert lie.toward == pytest.approx(tuple(way), abs=0.02)
    assert lie.text == f"The ground under the bed falls 5 % to the {sides[turn]}, from house."


START = Path("cli/starter")


def started(tmp_path: Path, units: str, head: str, floors: bool = False) -> Path:
    """The starter's yard with its heights read down from a level 1.2 m over its highest shot."""
    folder = {"ft": "feet", "m": "metres"}[units]
    for file in (START / folder).iterdir():
        text = file.read_text()
        if file.name == "shots.csv":
            text = _read_down(text, head)
        if file.name == "site.toml" and not floors:
            text = re.sub(r"^floor .*$", "", text, flags=re.MULTILINE)
        (tmp_path / file.name).write_text(text)
    return tmp_path / "site.toml"


def _read_down(text: str, head: str) -> str:
    remarks = [line for line in text.splitlines() if line.startswith("#")]
    header, *rows = [line.split(",") for line in text.splitlines() if line and not line.startswith("#")]
    column = header.index("elevation")
    sight = max(float(row[column]) for row in rows) + 1.2
    for row in rows:
        row[column] = f"{sight - float(row[column]):.3f}"
    header[column] = head
    return "\n".join([*remarks, *(",".join(row) for row in (header, *rows))]) + "\n"


@pytest.mark.parametrize("units", ["ft", "m"])
def test_a_column_of_rod_readings_is_the_ground_the_right_way_up(tmp_path: Path, units: str) -> None:
    folder = {"ft": "feet", "m": "metres"}[units]
    read, true = read_site(started(tmp_path, units, "rod")), read_site(START / folder / "site.toml")
    apart = read.survey.shots[:, 2] - true.survey.shots[:, 2]
    assert np.ptp(apart) < 1e-9
    assert read.survey.shots[:, 2].max() == pytest.approx(FROM[units] - 1.2 * (FOOT if units == "ft" else 1.0))
    assert any("rod readings" in note for note in read.survey.notes)


def test_no_reading_is_longer_than_a_rod(tmp_path: Path) -> None:
    site = started(tmp_path, "ft", "rod")
    file = tmp_path / "shots.csv"
    file.write_text(re.sub(r"^1,0\.0,0\.0,[\d.]+", "1,0.0,0.0,104.2", file.read_text(), flags=re.MULTILINE))
    with pytest.raises(InputError) as refusal:
        read_site(site)
    assert "no rod reading" in str(refusal.value)


@pytest.mark.slow
def test_the_terminal_says_it_first(tmp_path: Path, hummock: Callable) -> None:
    site = started(tmp_path, "ft", "elevation")
    told = " ".join(hummock("order", str(site)).stdout.split())
    assert told.index("rod readings") < told.index("Order")
    assert "falls 2 % to the north" in told  # the starter falls to the south
