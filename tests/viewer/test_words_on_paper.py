"""Every PDF as a reader meets it: no word over the border, on another, or too small; in every unit and language.

The files are read back by pdfium, which knows nothing of how they were laid out.
"""

from __future__ import annotations

import sys
import tomllib
from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pytest
import shapely
from every_drawing import drawn
from long_beds import long_study
from odd_yards import odd_yard
from paper_words import faults_of
from shipped import ROOT, study_of

from terrain.errors import InputError
from terrain.field.asbuilt.as_built import check_as_built
from terrain.field.asbuilt.model import BuiltShots
from terrain.field.crew.worked_day import crew_day
from terrain.field.setout.model import SetOut
from terrain.field.setout.set_out import grades, set_out
from terrain.flow import Study, run_site
from terrain.ground.existing import points_over
from terrain.language import TONGUES, Language, Tongue
from terrain.site.read import build_site
from terrain.units import Units
from viewer.page.lettering import Type
from viewer.page.page import Pen, cut_gaps, hatch, new_page, save_book
from viewer.page.palette import PAPER, grey_level
from viewer.page.sheet import BORDER
from viewer.page.subject import subject_of
from viewer.page.title_block import numbered
from viewer.pictures.client_page import draw_client
from viewer.pictures.contact_sheet import contact_pages
from viewer.pictures.forms import Frame
from viewer.pictures.slope_map import TINTS
from viewer.sheets import plan_set
from viewer.sheets.asbuilt_map import shot_labels
from viewer.sheets.cautions_page import draw_review
from viewer.sheets.crew_page import draw_crew
from viewer.sheets.form_page import draw_form
from viewer.sheets.order_page import draw_order
from viewer.sheets.order_sheet import order_sheet
from viewer.sheets.plan import plan_contours, plan_labels, plan_page, sheet_of, sheets_of
from viewer.sheets.plan_set import plan_set_pages
from viewer.sheets.setout_page import draw_set_out
from viewer.sheets.sheet_language import in_language
from viewer.sheets.stream_page import draw_streams
from viewer.sheets.tree_page import draw_trees

SHIPPED_IN = ROOT / "examples"
SHIPPED = ("alder-bend", "tansy-hollow", "larkspur-rise")  # the second has a stream
# Drawings that come as pictures, or on another paper than in the set: read as pages all the same.
FLAT = ("sections", "cut and fill", "water", "slope", "hillshade")
LONG = "the old bur oak at the bend of the lane that runs down to the alders"


@pytest.fixture(autouse=True)
def stakes_searched_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """The set of a yard and its set-out ask for the same stakes, which take half of the time of both."""
    search, kept = set_out, dict[int, SetOut]()

    def once(study: Study) -> SetOut:
        return kept.get(id(study)) or kept.setdefault(id(study), search(study))

    monkeypatch.setattr(plan_set, "set_out", once)
    monkeypatch.setattr(sys.modules[__name__], "set_out", once)


def spoken_files(study: Study, tongue: Tongue, folder: Path) -> list[Path]:
    """The files that come in every language."""
    words, stakes = Language(tongue), set_out(study)
    crew = draw_crew(study, stakes, crew_day(study, stakes), folder / f"crew-{tongue}.pdf", words)
    with in_language(study.site, words):
        found = [crew, draw_set_out(study, stakes, folder / f"setout-{tongue}.pdf"), draw_review(study, folder)]
        if study.site.tree:
            found.append(draw_trees(subject_of(study), study.review, folder / f"trees-{tongue}.pdf"))
    return found


def plain_files(study: Study, folder: Path) -> list[Path]:
    """The files that come in English alone; `others` are the rest of them."""
    subject, order = subject_of(study), draw_order(order_sheet(study), folder / "order.pdf")
    plan = [plan_page(subject, study.review.findings, sheet=sheet) for sheet in sheets_of(subject)]
    return [order, save_book(plan, folder / "plan.pdf"), save_book(plan_set_pages(study), folder / "plan-set.pdf")]


def other_files(study: Study, folder: Path) -> list[Path]:
    """What was built, the ground, forms to choose from, the page for the client, streams where there are any."""
    files = [save_book(numbered(drawn(name, study)), folder / f"{name}.pdf") for name in ("as-built", "ground")]
    files.append(save_book([page for name in FLAT for page in drawn(name, study)], folder / "flat.pdf"))
    _, desk = contact_pages([Frame("as drawn", study), *(Frame(f"{k}  the same", study) for k in range(1, 7))])
    files += [save_book([desk()], folder / "suggest.pdf"), draw_client(study, folder / "client.pdf")]
    return files + ([draw_streams(study, folder / "stream.pdf")] if study.streams else [])


def faults(files: list[Path]) -> list[str]:
    return [fault for path in files for fault in faults_of(path, BORDER)]


def all_faults(study: Study, tongues: Sequence[Tongue], folder: Path) -> list[str]:
    """Of every page of every file."""
    spoken = [path for tongue in tongues for path in spoken_files(study, tongue, folder)]
    return faults([*plain_files(study, folder), *other_files(study, folder), *spoken])


def test_what_a_reader_would_stumble_over_is_found(tmp_path: Path) -> None:
    page = new_page(300.0, 200.0)
    page.text(100.0, 100.0, "deep soil", Type(9.0))
    page.text(110.0, 103.0, "over it", Type(9.0))
    page.text(270.0, 50.0, "running out", Type(9.0))
    page.text(100.0, 30.0, "tiny", Type(5.0))
    page.text(40.0, 60.0, "the old tree at the ...", Type(9.0))
    page.text(100.0, 150.0, "off the offer, staff", Type(9.0))  # joined letters are set in pieces
    found = " ".join(faults_of(save_book([page], tmp_path / "page.pdf"), BORDER))
    assert "lies on" in found
    assert "'running out' runs out" in found
    assert "'tiny' is 5.0 pt" in found
    assert "'the old tree at the ...' is cut" in found
    assert "off" not in found


def test_a_word_on_a_hatch_is_found_and_one_in_a_gap_or_on_ground_is_not(tmp_path: Path) -> None:
    page, area = new_page(300.0, 200.0), shapely.box(20.0, 20.0, 280.0, 180.0)
    gap = shapely.box(38.0, 146.0, 120.0, 164.0)
    page.lines(cut_gaps(list(shapely.get_parts(hatch(area, 6.0))), [gap]), Pen())
    page.text(40.0, 150.0, "in a gap", Type(9.0))
    page.text(40.0, 100.0, "on the hatch", Type(9.0))
    page.area(shapely.box(38.0, 46.0, 160.0, 64.0), PAPER, 0.85)
    page.text(40.0, 50.0, "on ground of its own", Type(9.0))
    page.area(shapely.box(178.0, 46.0, 260.0, 64.0), PAPER, 0.3)
    page.text(180.0, 50.0, "on a veil", Type(9.0))
    found = faults_of(save_book([page], tmp_path / "page.pdf"), BORDER)
    assert [fault.split(": ")[1] for fault in found] == [
        "'on the hatch' stands on a hatch",
        "'on a veil' stands on a hatch",
    ]


def test_the_order_and_the_review_of_a_shipped_yard_read_clean(tmp_path: Path) -> None:
    study = study_of("alder-bend")
    assert not faults([draw_order(order_sheet(study), tmp_path / "order.pdf"), draw_review(study, tmp_path)])


@pytest.mark.parametrize(
    "yard", [pytest.param("alder-bend", marks=pytest.mark.fuzz), pytest.param("tansy-hollow", marks=pytest.mark.slow)]
)
def test_every_file_of_a_shipped_yard_reads_clean(yard: str, tmp_path: Path) -> None:
    assert not all_faults(study_of(yard), ["en"], tmp_path)


@pytest.mark.parametrize("units", ["ft", "m"])
def test_the_form_to_fill_in_by_hand_reads_clean(units: Units, tmp_path: Path) -> None:
    assert not faults([draw_form(units, tmp_path / "form.pdf")])


@pytest.mark.fuzz
@pytest.mark.parametrize("yard", SHIPPED)
def test_every_file_of_the_shipped_yards_in_every_language_reads_clean(yard: str, tmp_path: Path) -> None:
    assert not all_faults(study_of(yard), TONGUES, tmp_path)


@pytest.mark.parametrize(
    "seed", [pytest.param(seed, marks=pytest.mark.slow if seed == 33 else pytest.mark.fuzz) for seed in range(44)]
)
def test_odd_yards_in_feet_and_metres_read_clean(seed: int, tmp_path: Path) -> None:
    """In English; `test_sheets_in_languages.py` reads the other languages, and counts how many are refused."""
    try:
        study = run_site(odd_yard(seed).site())
    except InputError as refused:
        pytest.skip(str(refused))
    assert not all_faults(study, ["en"], tmp_path)


@pytest.mark.fuzz
@pytest.mark.parametrize(("way", "units"), [("east", "m"), ("bent", "ft"), ("hook", "m")])
def test_beds_of_55_metres_read_clean(way: str, units: Units, tmp_path: Path) -> None:
    study = long_study(way, units)
    assert not faults([*plain_files(study, tmp_path), *spoken_files(study, "fr", tmp_path)])


@pytest.mark.fuzz
@pytest.mark.parametrize("tongue", TONGUES)
def test_long_names_three_trees_and_a_stream_read_clean(tongue: Tongue, tmp_path: Path) -> None:
    """The shipped yard with a stream, two trees more, and long names for all that has one."""
    told = tomllib.loads((SHIPPED_IN / "tansy-hollow" / "site.toml").read_text(encoding="utf-8"))
    told["name"] = f"the garden of {LONG}"
    told["tree"] = [
        {**told["tree"][0], "name": f"{LONG}, {k}", "at": [east, north]}
        for k, (east, north) in enumerate(((38.0, 34.0), (4.0, 36.0), (40.0, 6.0)), start=1)
    ]
    study = run_site(build_site(told, SHIPPED_IN / "tansy-hollow"))
    assert study.streams
    assert not all_faults(study, [tongue], tmp_path)


def test_contour_figures_have_their_heads_uphill() -> None:
    subject = subject_of(study_of("alder-bend"))
    sheet, grid = sheet_of(subject), subject.proposal.grid
    placed = [p for p in plan_labels(subject, sheet, plan_contours(subject, sheet)[0]) if p.label.tag == "contour"]
    assert len(placed) > 5
    for item in placed:
        turn = np.radians(item.seat.angle)
        middle = np.array([[item.seat.across, item.seat.up]])
        head = 8.0 * np.array([[-np.sin(turn), np.cos(turn)]])
        proposed = item.label.kind.bold
        surface = subject.proposal.elevation if proposed else subject.ground.elevation
        high, low = (grid.sample(surface, sheet.ground(middle + side * head))[0] for side in (1.0, -1.0))
        assert high >= low, item.label.text


def test_every_shot_of_an_as_built_check_is_named() -> None:
    study = study_of("alder-bend")
    at = points_over(study.site.bed.outline, 30)
    _, _, day_one = grades(study, at)
    names = tuple(f"B{k}" for k in range(len(at)))
    shots = BuiltShots(np.column_stack([at, day_one - 0.05]), names, ("",) * len(at), "built.csv")
    check, subject = check_as_built(study, shots, "day one"), subject_of(study)
    placed = shot_labels(subject, check, sheet_of(subject))
    assert {item.label.text.split(":")[0] for item in placed if item.label.tag == "off"} == set(names)
    boxes = [item.box for item in placed]
    pairs = shapely.STRtree(boxes).query(boxes, predicate="intersects").T
    assert not [(placed[a].label.text, placed[b].label.text) for a, b in pairs.tolist() if a < b]


def test_the_steps_of_the_slope_map_are_apart_on_a_grey_print() -> None:
    greys = np.array([grey_level(tint) for tint in TINTS])
    assert (np.diff(greys) < -0.08).all()  # steeper is darker, and no two steps look alike
