"""Every section names its top and both toes on any paper: over the ground, or in a note under its distances."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from odd_yards import odd_yard
from paper_words import faults_of
from shapely.geometry import LineString
from shipped import ROOT, study_of

from terrain.errors import InputError
from terrain.flow import Study, run_site
from terrain.site.read import read_site
from viewer.page.sheet import BORDER
from viewer.page.subject import DrawingOptions, subject_of
from viewer.sheets import sections
from viewer.sheets.section_words import unnamed

DATA = ROOT / "tests" / "data"
CASES = ("wrapped_tree", "road_screen")  # a mound in two pieces; one 60 m long
Drawn = tuple[str, Any]


@pytest.fixture
def seen(monkeypatch: pytest.MonkeyPatch) -> list[Drawn]:
    """What the sections of a sheet were given as words: the section's name, triangles, placed words, callouts."""
    found: list[Drawn] = []
    words: Callable[..., Any] = sections.words

    def kept(drawn: Any, *given: Any) -> Any:
        found.append((drawn.name, (given[0], words(drawn, *given))))
        return found[-1][1][1]

    monkeypatch.setattr(sections, "words", kept)
    return found


def hold(study: Study, paper: str | None, seen: list[Drawn], folder: Path) -> int:
    """The sheet reads clean, and every callout stands on it; answers how many found no place over the ground."""
    seen.clear()
    page = sections.sections_page(subject_of(study, DrawingOptions(paper=paper)))
    assert not faults_of(page.save(folder / "sections.pdf"), BORDER), study.site.name
    said = [text.get_text() for text in page.axes.texts]
    noted = 0
    assert len(seen) == 3
    for name, (axis, (triangles, placed, calls)) in seen:
        told = [item.label.text for item in placed if item.label.tag]
        note = unnamed(placed, calls, axis, study.site.units)
        assert note in " ".join(said)
        for call in calls:
            assert call.text.split(",")[0] in " ".join([*told, note]), f"{study.site.name}, {paper}: {name}"
        assert len(told) + len(note.split("; ") if note else ()) == len(calls)
        assert len(triangles) == sum(item.label.text.endswith(":1") for item in placed)
        for item in placed:
            leader = item.seat.also
            if item.label.tag and isinstance(leader, LineString):
                at = calls[int(item.label.tag)].at
                assert leader.distance(LineString([at, at])) < 6.0, "a slanted leader begins at its place"
        noted += bool(note)
    return noted


@pytest.mark.parametrize("paper", ["A4", "letter", None])
@pytest.mark.parametrize("case", CASES)
def test_every_section_of_a_case_names_its_top_and_toes(
    case: str, paper: str | None, seen: list[Drawn], tmp_path: Path
) -> None:
    study = run_site(read_site(DATA / case / "site.toml"))
    assert hold(study, paper, seen, tmp_path) == 0, "over the ground"
    assert all(len(calls) == 3 for _, (_, (_, _, calls)) in seen)


@pytest.mark.slow
@pytest.mark.parametrize("paper", ["A4", "letter"])
def test_every_section_of_the_shipped_yards_does(paper: str, seen: list[Drawn], tmp_path: Path) -> None:
    for yard in ("alder-bend", "larkspur-rise", "tansy-hollow"):
        assert hold(study_of(yard, 0.25), paper, seen, tmp_path) == 0


@pytest.mark.parametrize(
    "seeds",
    [
        (8,),  # with a toe that only the note has room for
        pytest.param(range(16, 24), marks=pytest.mark.slow),
        pytest.param(range(44), marks=pytest.mark.fuzz),
    ],
    ids=["one", "eight", "44"],
)
def test_every_section_of_odd_yards_does_or_has_a_note(seeds: range, seen: list[Drawn], tmp_path: Path) -> None:
    noted = 0
    for seed in seeds:
        try:
            study = run_site(odd_yard(seed).site(), resolution=0.25)
        except InputError:
            continue
        noted += sum(hold(study, paper, seen, tmp_path) for paper in ("A4", None))
    assert noted > 0
