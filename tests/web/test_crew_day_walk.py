"""The whole job on the shipped yard as a crew does it by the phone's page: levels, tapes, stakes, shots, files, check.

What the rod reads is worked from a mound that is built with one low place; nothing else is known to the phone.
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from click.testing import CliRunner
from live_yards import PHONE, browsing, copied_yard

from cli.main import hummock
from terrain.field.setout.known import firm_points
from terrain.field.setout.level import level_shot
from terrain.field.setout.model import SetOut
from terrain.field.setout.set_out import grades, set_out
from terrain.field.setout.words import depth_words, show_tape
from terrain.flow import Study, run_site
from terrain.language import Language
from terrain.site.read import read_site
from viewer.web.field_page import write_field

pytestmark = pytest.mark.slow
FOOT = 0.3048
HIGH = 105.12  # feet: where the line of sight is
LOW = 0.5  # feet that the low place lacks in its middle
BESIDE = ("P1", "house SW", "front walk SE", (24.0, 12.0))  # a point beside the mound, taped from two corners


@pytest.fixture(scope="module")
def job(tmp_path_factory: pytest.TempPathFactory) -> tuple[Study, SetOut, Path]:
    folder = tmp_path_factory.mktemp("walk")
    study = run_site(read_site(copied_yard(folder)), resolution=0.2)
    stakes = set_out(study)
    return study, stakes, write_field(study, stakes, "ft", folder / "field.html", Language())


@pytest.fixture(scope="module")
def phone(job: tuple[Study, SetOut, Path]) -> Iterator[Any]:
    with browsing(PHONE, touch=True, flat=True) as page:
        page.context.set_offline(True)
        page.goto(job[2].as_uri())
        page.wait_for_selector("html[data-ready=yes]")
        yield page


def tab(page: Any, name: str) -> None:
    page.locator(f"#tabs button[data-tab={name}]").tap()


def rod(metres: float) -> str:
    """What the rod reads on ground of an elevation, to the hundredth of a foot."""
    return f"{HIGH - metres / FOOT:.2f}"


def low_there(at: tuple[float, float], top: tuple[float, float]) -> float:
    """How much is missing at a place, metres: a bowl of 1.2 m about the top."""
    return LOW * FOOT * max(1.0 - (math.dist(at, top) / 1.2) ** 2, 0.0)


def test_the_level_is_set_on_the_benchmark_that_the_page_knows(phone: Any, job: tuple[Study, SetOut, Path]) -> None:
    study = job[0]
    level = level_shot(study.site, study.proposal)
    assert level is not None
    tab(phone, "levels")
    name = level.name.removeprefix("shot ")
    assert phone.locator("#levels input").nth(0).input_value() == name
    assert phone.locator("#levels input").nth(1).input_value() == f"{level.elevation / FOOT:.2f}"
    assert phone.locator("#levels li input").nth(0).input_value() == name
    phone.locator("#levels li input").nth(1).fill(rod(level.elevation))
    # Another shot of the survey tells whether the level stands on the right one.
    other = study.site.survey.names.index("10")
    phone.locator("#levels > button.main").tap()
    line = phone.locator("#levels li").nth(1)
    line.locator("input").nth(0).fill("10")
    line.locator("input").nth(1).fill(rod(study.site.survey.shots[other, 2]))
    line.locator(".choices button").nth(1).tap()
    phone.locator("#levels > button.main").tap()
    line = phone.locator("#levels li").nth(2)
    line.locator("input").nth(0).fill(name)
    line.locator("input").nth(1).fill(rod(level.elevation))
    line.locator(".choices button").nth(2).tap()
    told = phone.locator("#levels output").all_inner_texts()
    assert told[0] == f"HI {HIGH:.2f} ft"
    assert told[1] == f"{study.site.survey.shots[other, 2] / FOOT:.2f} ft"
    assert "Closes at 0.000 ft" in phone.inner_text("#levels-told")


def test_a_point_beside_the_mound_is_taped(phone: Any, job: tuple[Study, SetOut, Path]) -> None:
    name, first, second, (x, y) = BESIDE
    known = {point.name: point.at for point in firm_points(job[0].site, job[0].proposal)}
    tab(phone, "tapes")
    for k, corner in enumerate((first, second)):
        phone.locator("#tapes select").nth(k).select_option(corner)
        away = math.dist(known[corner], (x * FOOT, y * FOOT))
        phone.locator("#tapes li input").nth(k + 1).fill(show_tape(away, "ft"))
    phone.locator("#tapes li input").nth(0).fill(name)
    along, off = np.subtract(known[second], known[first]), np.subtract((x * FOOT, y * FOOT), known[first])
    left = along[0] * off[1] - along[1] * off[0] > 0.0
    phone.locator("#tapes li .choices button").nth(0 if left else 1).tap()
    at = [float(one) for one in phone.locator("#tapes output").inner_text().replace("x ", "").split(", y ")]
    assert at == pytest.approx([x, y], abs=0.03)  # tapes are read to a quarter of an inch


def test_every_stake_is_found_read_and_ticked_off(phone: Any, job: tuple[Study, SetOut, Path]) -> None:
    tab(phone, "stakes")
    for stake in job[1].stakes:
        assert phone.locator("#stakes select").input_value() == stake.name
        where = phone.inner_text("#stake-where")
        assert f"{show_tape(stake.tapes.from_start, 'ft')} from {stake.tapes.start.name}, " in where
        assert f"{show_tape(stake.tapes.from_end, 'ft')} from {stake.tapes.end.name}, " in where
        assert ("on the left" if stake.tapes.left else "on the right") in where
        phone.locator("#stakes .wide input").fill(rod(stake.existing))
        build = stake.day_one - (HIGH - float(rod(stake.existing))) * FOOT
        assert phone.inner_text("#build") == depth_words(build, "ft").replace("none", "on grade")
        phone.locator("#stakes .tick").tap()
        phone.locator("#stakes .choices button").nth(1).tap()
    assert phone.inner_text("#left") == "All stakes are done."


def test_what_was_built_is_shot_and_the_low_place_shows_at_once(phone: Any, job: tuple[Study, SetOut, Path]) -> None:
    study, stakes = job[0], job[1].stakes
    top = max(stakes, key=lambda stake: stake.build).at
    tab(phone, "built")
    for stake in stakes:
        missing = low_there(stake.at, top)
        phone.locator("#built select").select_option(stake.name)
        phone.locator("#built .wide input").fill(rod(stake.day_one - missing))
        kind = phone.locator("#built-answer").get_attribute("class")
        assert ("low" in kind) == (missing > 0.1 * FOOT), stake.name
        phone.locator("#built > button.main").tap()
    ground = grades(study, np.array([BESIDE[3]]) * FOOT)[0]
    phone.locator("#built select").select_option(BESIDE[0])
    phone.locator("#built .wide input").fill(rod(float(ground[0])))
    assert "within" in phone.locator("#built-answer").get_attribute("class")
    phone.locator("#built > button.main").tap()
    assert phone.locator("#shots li").count() == len(stakes) + 1


def test_the_files_go_beside_the_site_file_and_the_check_finds_the_low_place(
    phone: Any, job: tuple[Study, SetOut, Path]
) -> None:
    study, stakes, page_file = job
    folder = page_file.parent
    tab(phone, "files")
    points = phone.inner_text("#needed").partition(": ")[2]
    for k in range(3):
        with phone.expect_download() as given:
            phone.locator("#files .cards li").nth(k).locator("button").nth(1).tap()
        given.value.save_as(folder / given.value.suggested_filename)
    told = CliRunner().invoke(
        hummock, ["asbuilt", str(folder / "site.toml"), "--shots", str(folder / "built.csv"), "--json"]
    )
    assert told.exit_code == 0, told.output
    cause = json.loads(told.stdout)["asbuilt"]["cause"]
    assert cause["kind"] == "local"
    top = max(stakes.stakes, key=lambda stake: stake.build).at
    assert math.dist(cause["at"], top) < 1.2
    # And the site file itself takes the book and the tapes, with the corners that they start from as its known points.
    level = level_shot(study.site, study.proposal)
    assert level is not None
    more = (
        f'[survey]\nlevel_book = "levels.csv"\nties = "ties.csv"\n{points}\n'
        f'benchmark = {{ point = "{level.name.removeprefix("shot ")}", elevation = {level.elevation / FOOT:.3f} }}\n'
    )
    text = (folder / "site.toml").read_text(encoding="utf-8")
    (folder / "site.toml").write_text(text.replace("[survey]\n", more, 1), encoding="utf-8")
    site = read_site(folder / "site.toml")
    places = site.survey.shots[:, :2] / FOOT
    assert np.hypot(*(places - BESIDE[3]).T).min() > 0.05 or len(site.survey.shots) > len(study.site.survey.shots)
