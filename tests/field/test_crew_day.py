"""The crew's day: amounts from their one owner, hours by published rates or the user's own, planks over roots."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from shipped import study_of

from terrain.errors import InputError
from terrain.field.crew.barrow_squares import SquaresFrame, squares_of
from terrain.field.crew.day import PACES, CrewDay, Task, day_of
from terrain.field.crew.day_words import day_rows, grade_words, hold_words, hours_words, sill_lines, way_words
from terrain.field.crew.worked_day import crew_day
from terrain.field.setout.set_out import set_out
from terrain.flow import Study, run_site
from terrain.language import ENGLISH, Language, language_named
from terrain.site.model import Site
from terrain.site.read import read_site

YARD3, FOOT2 = 0.764554857984, 0.09290304  # m3, m2: exact


def written(root: Path, folder: Path, more: str) -> Site:
    """The oak's yard with more in its site file."""
    for name in ("bed.csv", "shots.csv"):
        (folder / name).write_bytes((root / "examples/alder-bend" / name).read_bytes())
    text = (root / "examples/alder-bend/site.toml").read_text(encoding="utf-8")
    (folder / "site.toml").write_text(f"{text}\n{more}\n", encoding="utf-8")
    return read_site(folder / "site.toml")


MORE = """
[crew]
people = 4
move   = "1 cu yd/h"
strip  = "100 sq ft/h"
gate   = "36 in"
way    = [[0, 20], [26, 20]]
[[heap]]
name = "drive"
outline = [[-4, 18], [0, 18], [0, 22], [-4, 22]]
[[thing]]
kind = "buried line"
name = "gas line"
line = [[0, 40], [60, 40]]
"""


@pytest.fixture(scope="module")
def stated(root: Path, tmp_path_factory: pytest.TempPathFactory) -> tuple[Study, CrewDay]:
    study = run_site(written(root, tmp_path_factory.mktemp("crew"), MORE), resolution=0.2)
    return study, day_of(study, squares_of(study, SquaresFrame((0.0, 0.0), (1.0, 0.0))))


def task(day: CrewDay, step: str) -> Task:
    return next(task for task in day.tasks if task.step == step)


def test_the_paces_are_the_published_ones() -> None:
    # A planning wiki's trade guide for pits dug by hand (0.37 to 0.86 cu yd/h over sand to clay), a labour brief of
    # 1998 and contractors' pages for loading, wheeling and spreading: 0.4, 0.85 and 1.5 cu yd an hour for one person.
    def paces(step: str, unit: float) -> tuple[float, ...]:
        pace = PACES[step]  # type: ignore[index]
        return tuple(round(one / unit, 3) for one in (pace.low, pace.likely, pace.high))

    assert paces("build", YARD3) == (0.4, 0.85, 1.5)
    assert paces("dig", YARD3) == (0.37, 0.55, 0.86)
    assert paces("mulch", YARD3) == (1.0, 1.5, 3.0)
    assert paces("strip", FOOT2) == (90.0, 125.0, 225.0)
    assert paces("set out", FOOT2) == (900.0, 900.0, 900.0)
    assert paces("shape", 1.0) == (8.33, 9.09, 11.11)
    assert all(pace.source for pace in PACES.values())


def test_the_steps_come_in_the_order_of_the_day(stated: tuple[Study, CrewDay]) -> None:
    steps = [task.step for task in stated[1].tasks]
    assert steps == ["locate", "fence", "set out", "strip", "build", "shape", "check", "mulch"]


def test_stated_rates_stand_in_for_the_published_ones(stated: tuple[Study, CrewDay]) -> None:
    study, day = stated
    build, strip, mulch = (task(day, step) for step in ("build", "strip", "mulch"))
    assert build.stated
    # 1 cu yd an hour: as many hours as cubic yards in whole barrows of 3 cu ft.
    assert build.hours == pytest.approx((day.squares.bought * 3.0 / 27.0,) * 3, rel=1e-9)
    assert strip.hours == pytest.approx((study.work.worked_area / FOOT2 / 100.0,) * 3, rel=1e-9)
    assert not mulch.stated
    assert mulch.hours is not None
    assert mulch.hours[1] == pytest.approx(study.order.covers[0].quantity / YARD3 / 1.5, rel=1e-9)


def test_hours_are_those_of_the_whole_crew(stated: tuple[Study, CrewDay]) -> None:
    assert hours_words((8.0, 16.0, 40.0), 4, ENGLISH) == "4 h (2 to 10)"
    assert hours_words((6.0, 6.0, 6.0), 4, ENGLISH) == "1.5 h"
    assert hours_words(None, 4, ENGLISH) == ""
    assert hours_words((6.0, 6.0, 6.0), 4, Language("fr")) == "1,5 h"
    rows = day_rows(*stated, ENGLISH)
    assert [row.name for row in rows][:2] == ["Locate lines", "Fence the trees"]
    assert rows[3].amount.endswith("2 in deep")
    assert rows[4].amount == f"{stated[0].order.haul.barrows} barrows"


def test_planks_are_counted_over_roots_outside_the_bed(stated: tuple[Study, CrewDay]) -> None:
    study, day = stated
    # The way runs along y = 20 from x = 0 to 26; the oak at (34, 28) has roots for 30 ft: from x = 34 - sqrt(900 - 64).
    inside = 26.0 - (34.0 - 836.0**0.5)
    assert day.way.length == pytest.approx(26.0 * 0.3048, rel=1e-9)
    ((tree, length),) = day.way.planks
    assert tree == "bur oak"
    assert length / 0.3048 == pytest.approx(inside, abs=0.05)
    told = " ".join(way_words(study, day, ENGLISH))
    assert "Gate: 36 in wide" in told
    assert "drive, 26 ft to the mound" in told
    assert f"Planks for {round(2 * inside * 12) / 2 // 12:.0f} ft" in told


def test_work_waits_for_trees_and_lines(stated: tuple[Study, CrewDay]) -> None:
    study, day = stated
    kinds = [(hold.kind, hold.name) for hold in day.holds if hold.kind != "review"]
    assert kinds == [("tree", "bur oak"), ("buried line", "gas line")]
    told = [hold_words(hold, "ft", ENGLISH) for hold in day.holds]
    assert any("arborist" in words and "10 ft" in words for words in told)
    assert any("gas line: marked and seen" in words for words in told)
    assert grade_words(study, ENGLISH) == "Grade: DAY ONE, as it is built. The soil then settles by 8 %."


@pytest.mark.parametrize(
    ("line", "message"),
    [
        ('move = "fast"', "no rate of work by hand"),
        ('move = "500 cu yd/h"', "no rate of work by hand"),
        ('strip = "0 sq ft/h"', "no rate of work by hand"),
        ("people = 0", "people"),
        ('pace = "1"', "Known keys: people"),
    ],
)
def test_rates_that_are_none_are_refused(root: Path, tmp_path: Path, line: str, message: str) -> None:
    with pytest.raises(InputError, match=message):
        written(root, tmp_path, f"[crew]\n{line}")


def test_a_language_is_named_as_people_write_it() -> None:
    assert language_named("es-MX").code == "es"
    assert language_named("FR").code == "fr"
    with pytest.raises(InputError, match="Accepted: en, es, fr"):
        language_named("de")


def test_the_sills_of_a_stream_stand_on_the_sheet_to_what_they_are_set_to() -> None:
    study = study_of("tansy-hollow", 0.2)
    (needs,) = study.streams
    first, last = sill_lines(study, Language())
    assert last == "Each level, to 1/16 in; a spill stone a touch low at its front."
    told = re.findall(r"(\d+\.\d{3})\u00a0ft", first)
    sills = needs.materials.parts.sills
    assert len(told) == len(sills)
    # To half of a hundredth of a foot, which is 1/16 in.
    assert [float(one) * 0.3048 for one in told] == pytest.approx([sill.day_one for sill in sills], abs=0.0008)
    rows = day_rows(study, crew_day(study, set_out(study)), Language())
    (row,) = [one for one in rows if one.name == "Lay the stream"]
    assert row.amount == f"{len(sills)} sills"
    assert row.mind.endswith("edges last, with the water running.")
    assert [one.name for one in rows].index("Lay the stream") == [one.name for one in rows].index("Check") - 1
