"""What the place says stands in the place of the usual figure, in the finding too; and what is not there is checked."""

from __future__ import annotations

from dataclasses import fields
from pathlib import Path

import pytest
import review_yards as yards
from ground_answers import ANSWERS
from rain_answers import Answer

from terrain import read_site
from terrain.errors import InputError
from terrain.findings import Finding
from terrain.site.local import USUAL, Local
from terrain.site.things import KINDS

FT, IN = 0.3048, 0.0254


def asked(question: str) -> Answer:
    return next(answer for answer in ANSWERS if answer.question == question)


def found(answer: Answer, **more: object) -> tuple[Finding, ...]:
    return yards.reviewed(**{"grid": yards.make_grid(cell=0.25), "units": "m", **answer.yard, **more})[3].findings


def test_every_key_has_a_usual_figure_and_every_figure_a_key() -> None:
    assert {field.name for field in fields(Local)} == set(USUAL)


@pytest.mark.parametrize("key", USUAL)
def test_a_figure_of_the_place_is_its_own_source(key: str) -> None:
    assert Local().bound(key) == USUAL[key]
    said = Local(**{key: 1.25}).bound(key)
    assert (said.value, said.unit) == (1.25, USUAL[key].unit)
    assert said.source == f"the site file, [local] {key}"


# Question of the trade, key, a figure that turns its answer round, and words of the finding that comes or goes.
TURNED = (
    ("A hydrant 2 ft from the toe.", "hydrant", 1.0 * FT, "of hydrant"),
    ("A hydrant 6 ft from the toe.", "hydrant", 12.0 * FT, "of hydrant"),
    ("A dig of 20 in, a foot from the house; frost goes 42 in deep.", "frost", 12.0 * IN, "under its footing"),
    ("The same where nothing is said of frost.", "frost", 42.0 * IN, "under its footing"),
    ("A drop of 2 ft there.", "guard_drop", 20.0 * IN, "codes ask for a guard"),
)


@pytest.mark.parametrize(("question", "key", "figure", "words"), TURNED)
def test_a_figure_of_the_place_turns_the_answer(question: str, key: str, figure: float, words: str) -> None:
    answer = asked(question)
    usual = [one for one in found(answer) if words in one.text]
    local = [one for one in found(answer, local=Local(**{key: figure})) if words in one.text]
    assert bool(usual) is not bool(local)


def test_permits_setbacks_and_falls_follow_the_place() -> None:
    answer = asked("A hydrant 6 ft from the toe.")
    strict = Local(permit_fill=0.1, house_fall=0.4, setback=1.5)
    words = {one.source: one.text for one in found(answer, local=strict)}
    assert any("[local] permit_fill" in source and "needs a grading permit" in text for source, text in words.items())
    told = next(text for text in words.values() if "the toe stays" in text)
    assert "the toe stays 1.50 m" in told


def test_what_is_not_there_is_checked() -> None:
    answer = asked("A hydrant 6 ft from the toe.")
    yard = {"grid": yards.make_grid(cell=0.25), "units": "m", **answer.yard, "thing": ()}
    for none_here, word in (((), "not checked"), (KINDS, "fine")):
        checks = yards.reviewed(**yard, none_here=none_here)[3].checks
        assert {one.word for one in checks if one.check.name.startswith("near ")} == {word}


START = Path("cli/starter/feet/site.toml")
NOT_THERE = '# none_here = ["hydrant", "septic"]'


def started(tmp_path: Path, change: tuple[str, str]) -> Path:
    for file in START.parent.iterdir():
        (tmp_path / file.name).write_text(file.read_text().replace(*change))
    return tmp_path / "site.toml"


def test_a_site_file_says_it(tmp_path: Path) -> None:
    said = 'none_here = ["Hydrant", "buried_line"]\nlocal = { frost = "42 in" }'
    site = read_site(started(tmp_path, (NOT_THERE, said)))
    assert site.none_here == ("hydrant", "buried line")
    assert site.local == Local(frost=42 * IN)


@pytest.mark.parametrize(
    ("place", "text", "words"),
    [
        (NOT_THERE, 'none_here = ["hydrants nearby"]', "is no kind of thing"),
        (NOT_THERE, 'local = { frost = "-1 in" }', "frost"),
        (NOT_THERE, 'local = { forst = "1 in" }', 'Did you mean "frost"'),
        ("[soil]\n", '[soil]\nfrost = "1 in"\n', "[local]"),
        (
            NOT_THERE,
            'none_here = "hydrant"\nthing = [{ kind = "hydrant", name = "red one", line = [[1, 2]] }]',
            "the one or the other",
        ),
    ],
)
def test_slips_are_told(tmp_path: Path, place: str, text: str, words: str) -> None:
    with pytest.raises(InputError) as refusal:
        read_site(started(tmp_path, (place, text)))
    assert words in str(refusal.value)
