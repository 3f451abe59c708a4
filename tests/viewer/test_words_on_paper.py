"""Every PDF as a reader meets it: no word over the border, on another, or too small; in every unit and language.

The files are read back by pdfium, which knows nothing of how they were laid out.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import shapely
from every_drawing import drawn
from odd_yards import odd_sites
from paper_words import faults_of
from shipped import study_of

from terrain.errors import InputError
from terrain.field.asbuilt.as_built import check_as_built
from terrain.field.asbuilt.model import BuiltShots
from terrain.field.crew.worked_day import crew_day
from terrain.field.setout.set_out import grades, set_out
from terrain.flow import Study, run_site
from terrain.ground.existing import points_over
from terrain.language import TONGUES, Language
from terrain.units import Units
from viewer.page.lettering import Type
from viewer.page.page import new_page, save_book
from viewer.page.palette import grey_level
from viewer.page.sheet import BORDER
from viewer.page.subject import subject_of
from viewer.page.title_block import numbered
from viewer.pictures.client_page import draw_client
from viewer.pictures.contact_sheet import contact_pages
from viewer.pictures.forms import Frame
from viewer.pictures.slope_map import TINTS
from viewer.sheets.asbuilt_map import shot_labels
from viewer.sheets.cautions_page import draw_review
from viewer.sheets.crew_page import draw_crew
from viewer.sheets.form_page import draw_form
from viewer.sheets.order_page import draw_order
from viewer.sheets.order_sheet import order_sheet
from viewer.sheets.plan import plan_contours, plan_labels, sheet_of
from viewer.sheets.plan_set import plan_set_pages
from viewer.sheets.setout_page import draw_set_out
from viewer.sheets.sheet_language import in_language
from viewer.sheets.stream_page import draw_streams
from viewer.sheets.tree_page import draw_trees

SHIPPED = ("alder-bend", "tansy-hollow", "larkspur-rise")


def spoken_files(study: Study, tongue: str, folder: Path) -> list[Path]:
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
    order = draw_order(order_sheet(study), folder / "order.pdf")
    return [order, save_book(plan_set_pages(study), folder / "plan-set.pdf")]


def other_files(study: Study, folder: Path) -> list[Path]:
    """What was built, the ground, forms to choose from, the page for the client, streams where there are any."""
    files = [save_book(numbered(drawn(name, study)), folder / f"{name}.pdf") for name in ("as-built", "ground")]
    _, desk = contact_pages([Frame("as drawn", study), *(Frame(f"{k}  the same", study) for k in range(1, 7))])
    files += [save_book([desk()], folder / "suggest.pdf"), draw_client(study, folder / "client.pdf")]
    return files + ([draw_streams(study, folder / "stream.pdf")] if study.streams else [])


def faults(files: list[Path]) -> list[str]:
    return [fault for path in files for fault in faults_of(path, BORDER)]


def test_a_word_on_another_over_the_border_or_too_small_is_found(tmp_path: Path) -> None:
    page = new_page(300.0, 200.0)
    page.text(100.0, 100.0, "deep soil", Type(9.0))
    page.text(110.0, 103.0, "over it", Type(9.0))
    page.text(270.0, 50.0, "running out", Type(9.0))
    page.text(100.0, 30.0, "tiny", Type(5.0))
    page.text(100.0, 150.0, "off the offer, staff", Type(9.0))  # joined letters are set in pieces
    found = " ".join(faults_of(save_book([page], tmp_path / "page.pdf"), BORDER))
    assert "lies on" in found
    assert "'running out' runs out" in found
    assert "'tiny' is 5.0 pt" in found
    assert "off" not in found


def test_the_order_and_the_review_of_a_shipped_yard_read_clean(tmp_path: Path) -> None:
    study = study_of("alder-bend")
    assert not faults([draw_order(order_sheet(study), tmp_path / "order.pdf"), draw_review(study, tmp_path)])


@pytest.mark.slow
@pytest.mark.parametrize("yard", SHIPPED[:1])
def test_every_file_of_a_shipped_yard_reads_clean(yard: str, tmp_path: Path) -> None:
    assert not faults([*plain_files(study_of(yard), tmp_path), *spoken_files(study_of(yard), "en", tmp_path)])


@pytest.mark.slow
@pytest.mark.parametrize("yard", SHIPPED[:2])  # the second has a stream
def test_every_other_file_of_a_shipped_yard_reads_clean(yard: str, tmp_path: Path) -> None:
    assert not faults(other_files(study_of(yard), tmp_path))


@pytest.mark.parametrize("units", ["ft", "m"])
def test_the_form_to_fill_in_by_hand_reads_clean(units: Units, tmp_path: Path) -> None:
    assert not faults([draw_form(units, tmp_path / "form.pdf")])


@pytest.mark.fuzz
@pytest.mark.parametrize("yard", SHIPPED)
def test_every_file_of_the_shipped_yards_in_every_language_reads_clean(yard: str, tmp_path: Path) -> None:
    found = faults([*plain_files(study_of(yard), tmp_path), *other_files(study_of(yard), tmp_path)])
    for tongue in TONGUES:
        found += faults(spoken_files(study_of(yard), tongue, tmp_path))
    assert not found


@pytest.mark.fuzz
def test_forty_odd_yards_in_feet_and_metres_read_clean(tmp_path: Path) -> None:
    found, held = [], 0
    for number, (_, site) in enumerate(odd_sites(range(44))):
        try:
            study = run_site(site)
        except InputError:
            continue
        held += 1
        files = [*plain_files(study, tmp_path), *spoken_files(study, TONGUES[number % len(TONGUES)], tmp_path)]
        files += other_files(study, tmp_path) if number % 4 == 0 else []  # made of the same parts
        found += [f"{site.name}: {fault}" for fault in faults(files)]
    assert held >= 30
    assert not found, "\n".join(found)


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


@pytest.mark.slow
def test_long_names_stay_on_the_paper(tmp_path: Path) -> None:
    study = study_of("alder-bend")
    long = "the front bed of the house at the bend of the lane that runs down to the alders by the water"
    named = replace(study, site=replace(study.site, name=long))
    assert not faults([draw_review(named, tmp_path), draw_order(order_sheet(named), tmp_path / "order.pdf")])
