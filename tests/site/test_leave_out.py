"""Shots that the user leaves out: by name, never silently, and only those that there are."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from invented_yard import FOOT, SHOTS, SITE, refusal, yard as invented

from terrain.errors import InputError
from terrain.ground.choose import METHODS
from terrain.ground.existing import model_ground
from terrain.site.checks import check_site
from terrain.site.model import Site
from terrain.site.read import read_site
from terrain.site.survey import SURFACES

EXAMPLE = Path(__file__).resolve().parents[2] / "examples/alder-bend"


def yard(folder: Path, line: str) -> Site:
    for path in EXAMPLE.iterdir():
        if path.suffix in {".csv", ".toml"}:
            (folder / path.name).write_text(path.read_text())
    text = (folder / "site.toml").read_text()
    (folder / "site.toml").write_text(text.replace("[survey]\n", f"[survey]\n{line}\n"))
    return read_site(folder / "site.toml")


def test_a_shot_left_out_is_gone_from_the_ground_and_named(tmp_path: Path) -> None:
    whole = read_site(EXAMPLE / "site.toml")
    name, other = whole.survey.names[6], whole.survey.names[11]
    site = yard(tmp_path, f'leave_out = ["{name}", {other if other.isdigit() else repr(other)}]')
    assert len(site.survey.shots) == len(whole.survey.shots) - 2
    assert {name, other}.isdisjoint(site.survey.names)
    assert [shot.name for shot in site.survey.left_out] == [name, other]
    assert site.survey.left_out[0].elevation == whole.survey.shots[6, 2]
    ground = model_ground(site)
    assert f"Shots {name}, {other} are left out of the ground, as [survey] leave_out asks." in ground.notes
    assert ground.check.shots == len(whole.survey.shots) - 2


def test_checking_again_changes_nothing(tmp_path: Path) -> None:
    site = yard(tmp_path, f'leave_out = ["{read_site(EXAMPLE / "site.toml").survey.names[6]}"]')
    again = check_site(site)
    assert again.survey.left_out == site.survey.left_out
    assert again.survey.notes == site.survey.notes


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ('leave_out = ["no such shot"]', 'leave_out: "no such shot" is no shot of the survey'),
        ("leave_out = [1.5]", "is no list of shots"),
        ('leave_out = [""]', "is no list of shots"),
    ],
)
def test_a_name_that_is_no_shot_is_refused(tmp_path: Path, line: str, said: str) -> None:
    with pytest.raises(InputError, match=said.replace("[", r"\[")):
        yard(tmp_path, line)


def test_a_shot_may_be_left_out_by_its_row(tmp_path: Path) -> None:
    whole = read_site(EXAMPLE / "site.toml")
    site = yard(tmp_path, f'leave_out = ["row {whole.survey.rows[6]}"]')
    assert whole.survey.names[6] not in site.survey.names
    assert [(shot.name, shot.at) for shot in site.survey.left_out] == [
        (f"row {whole.survey.rows[6]}", tuple(whole.survey.shots[6, :2]))
    ]
    assert check_site(site).survey.left_out == site.survey.left_out


def test_a_name_of_two_shots_is_asked_about_and_a_row_settles_it(tmp_path: Path) -> None:
    files = {"shots.csv": SHOTS + "5,27,21,100.75,\n"}
    line = 'accuracy = "0.02 ft"'
    site = SITE.replace(line, f'{line}\nleave_out = ["5"]')
    assert (
        '[survey] leave_out: "5" is the name of 2 shots, row 6, row 7. Accepted: one of them, such as "row 7".'
    ) in refusal(tmp_path, site, files)
    settled = invented(tmp_path, site.replace('["5"]', '["row 7"]'), files)
    assert settled.survey.names == ("1", "2", "3", "4", "5")
    assert settled.survey.shots[4, 2] == pytest.approx(100.70 * FOOT, abs=1e-9)


def test_two_elevations_at_one_place_are_settled_by_leaving_one_out(tmp_path: Path) -> None:
    files = {"shots.csv": SHOTS + "6,25,20,101.95,\n"}
    assert "name the other in leave_out under [survey]" in refusal(tmp_path, SITE, files)
    line = 'accuracy = "0.02 ft"'
    for name, kept in (("6", 100.70), ("row 6", 101.95)):
        site = invented(tmp_path, SITE.replace(line, f'{line}\nleave_out = ["{name}"]'), files)
        assert site.survey.shots[4, 2] == pytest.approx(kept * FOOT, abs=1e-9)


@pytest.mark.parametrize(
    ("written", "surface"),
    [
        ('"triangulation"', "triangulation"),
        ('"thin plate"', "thin_plate"),
        ('"Kriging"', "kriging"),
        ('"auto"', "auto"),
    ],
)
def test_the_surface_may_be_chosen_in_the_site_file(tmp_path: Path, written: str, surface: str) -> None:
    site = yard(tmp_path, f"surface = {written}")
    assert site.survey.surface == surface
    assert surface in SURFACES
    assert set(SURFACES) == {"auto", "flat", *METHODS}


def test_the_ground_is_the_surface_that_the_site_asks_for(tmp_path: Path) -> None:
    site = yard(tmp_path, 'surface = "triangulation"')
    assert model_ground(site).check.method == "triangulation"
    assert model_ground(site, "thin_plate").check.method == "thin_plate"


@pytest.mark.parametrize("written", ['"spline"', "3", "[]", '""'])
def test_a_surface_that_there_is_not_is_refused(tmp_path: Path, written: str) -> None:
    accepted = "is no surface of the ground. Accepted: auto, kriging, thin plate, triangulation, flat."
    with pytest.raises(InputError, match=re.escape(accepted)):
        yard(tmp_path, f"surface = {written}")
