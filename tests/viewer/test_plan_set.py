"""The plan set: every sheet there, to scale on its paper, numbered, every stake named, no label on another."""

from __future__ import annotations

import re
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
import shapely
from pypdf import PdfReader
from shapely import affinity
from shipped import study_of

from terrain.errors import InputError
from terrain.field.setout.model import SetOut
from terrain.field.setout.set_out import set_out
from terrain.findings import Finding
from terrain.papers import NAMED
from terrain.units import unit_length
from viewer.page.contours import MOST_ASKED, check_interval
from viewer.page.lettering import LEAST, Type
from viewer.page.page import Page, new_page, save_book
from viewer.page.palette import EXISTING, PROPOSED
from viewer.page.sheet import BORDER, Part, page_of_words, paper_named
from viewer.page.subject import DrawingOptions, Subject, top_of_mound
from viewer.page.title_block import stamp_sheet
from viewer.sheets import plan_set
from viewer.sheets.cautions_page import caution_pages
from viewer.sheets.plan import plan_contours, plan_labels, plan_page, sheet_of
from viewer.sheets.plan_set import NAME, draw_plan_set, plan_set_pages
from viewer.sheets.setout_page import _sheet, set_out_pages, stake_labels
from viewer.sheets.tree_page import draw_trees

ROOT = Path(__file__).resolve().parents[2]
YARDS = ("alder-bend", pytest.param("larkspur-rise", marks=pytest.mark.slow))
IN_CI = (("alder-bend", "letter"), ("alder-bend", "22x34"), ("larkspur-rise", "A4"), ("larkspur-rise", "A1"))


@cache
def staked(yard: str) -> SetOut:
    return set_out(study_of(yard))


def subject_of(yard: str, asked: DrawingOptions | None = None) -> Subject:
    study = study_of(yard)
    return Subject(study.site, study.ground, study.proposal, study.work, asked or DrawingOptions())


@cache
def pages(yard: str) -> tuple[Page, ...]:
    return tuple(plan_set_pages(study_of(yard)))


def words_on(page: Page) -> list[str]:
    return [text.get_text() for text in page.axes.texts]


@pytest.mark.parametrize("yard", YARDS)
def test_the_sheets_come_in_order_each_with_its_number(yard: str) -> None:
    found = pages(yard)
    titles = [" ".join(words_on(page)) for page in found]
    order = ["Contour plan", "Sections through", "Cut and fill", "Soil order", "Soil over roots", "Trees and cautions"]
    order += ["Every stake by two tapes", "stakes in the order of walking"]
    firsts = [next(k for k, title in enumerate(titles) if words in title) for words in order]
    assert firsts == sorted(set(firsts))
    # Each page is a sheet, and its number is its place among all.
    for number, page in enumerate(found, start=1):
        assert f"{number} of {len(found)}" in words_on(page)
    trees = [title for title in titles if "Soil over roots" in title]
    assert len(trees) == len(study_of(yard).site.tree)


@pytest.mark.parametrize("yard", YARDS)
def test_a_set_is_of_one_paper(yard: str) -> None:
    assert len({tuple(sorted((page.width, page.height))) for page in pages(yard)}) == 1


@pytest.mark.parametrize("yard", YARDS)
def test_every_sheet_is_a_whole_paper(yard: str) -> None:
    sizes = {tuple(round(side) for side in size) for size in NAMED.values()}
    for page in pages(yard):
        assert tuple(sorted((round(page.width), round(page.height)))) in sizes


def ink_of(page: Page) -> list[tuple[str, shapely.Geometry]]:
    """Every text of a page with the turned rectangle that its drawn letters fill, in points.

    Measured on the outlines of the letters, not on the sizes that the placing of labels reckons with.
    """
    from matplotlib.textpath import text_to_path

    found = []
    for text in page.axes.texts:
        drawn, kind = text.get_text(), text.get_fontproperties()
        letters, _ = text_to_path.get_text_path(kind, drawn, ismath=False)
        if not len(letters):
            continue
        spots = np.asarray(letters) * text.get_fontsize() / text_to_path.FONT_SCALE
        wide = text_to_path.get_text_width_height_descent(drawn, kind, ismath=False)[0]
        spots[:, 0] -= {"left": 0.0, "right": wide, "center": wide / 2}[text.get_horizontalalignment()]
        frame = affinity.rotate(shapely.box(*spots.min(axis=0), *spots.max(axis=0)), text.get_rotation(), (0, 0))
        found.append((drawn, affinity.translate(frame, *text.get_position())))
    return found


def on_each_other(page: Page) -> list[tuple[str, str]]:
    """Pairs of texts whose ink meets."""
    texts = ink_of(page)
    frames = [frame for _, frame in texts]
    pairs = shapely.STRtree(frames).query(frames, predicate="intersects").T
    return [(texts[a][0], texts[b][0]) for a, b in pairs if a < b and frames[a].intersection(frames[b]).area > 0.05]


@pytest.mark.parametrize("yard", ["alder-bend", pytest.param("larkspur-rise", marks=pytest.mark.slow)])
def test_no_text_of_a_drawing_lies_on_another_or_leaves_the_paper(yard: str) -> None:
    """The pages of words beside the drawings are measured with the papers below."""
    for page in (*pages(yard)[:3], set_out_pages(study_of(yard), staked(yard))[0]):
        assert not on_each_other(page)
        paper = shapely.box(BORDER, BORDER, page.width - BORDER, page.height - BORDER)
        assert not [text for text, frame in ink_of(page) if not paper.covers(frame)]


@pytest.mark.parametrize(
    ("yard", "paper"),
    [
        pytest.param(yard, paper, marks=pytest.mark.slow if (yard, paper) in IN_CI else pytest.mark.fuzz)
        for yard in ("alder-bend", "larkspur-rise")
        for paper in ("letter", "tabloid", "22x34", "A4", "A3", "A1")
    ],
)
def test_no_text_lies_on_another_on_any_paper(yard: str, paper: str) -> None:
    for page in plan_set_pages(study_of(yard), DrawingOptions(paper=paper)):
        assert not on_each_other(page)


def test_ink_that_meets_is_found() -> None:
    page = new_page(300.0, 100.0)
    page.text(50.0, 50.0, "deep", Type(9.0))
    page.text(50.0, 42.5, "35.5", Type(9.0))  # clear of the letters, under the tail of the p
    assert on_each_other(page) == [("deep", "35.5")]


def test_findings_without_room_on_the_plan_are_to_be_read_on_a_sheet_of_the_set() -> None:
    (more,) = [text for text in words_on(pages("alder-bend")[0]) if " more in " in text]
    assert more.endswith("more in the cautions, sheet 6")
    assert "Trees and cautions" in words_on(pages("alder-bend")[5])


@pytest.mark.parametrize("yard", YARDS)
@pytest.mark.parametrize("paper", [None, "A3", "17x22"])
def test_every_stake_is_named_on_the_plan_and_no_name_lies_on_another(yard: str, paper: str | None) -> None:
    subject, stakes = subject_of(yard, DrawingOptions(paper=paper)), staked(yard)
    placed = stake_labels(subject, stakes, _sheet(subject, stakes))
    named = {item.label.text for item in placed if item.label.tag == "stake"}
    assert {stake.name for stake in stakes.stakes} <= named
    assert {known.name for known in stakes.known} <= {item.label.text for item in placed}
    boxes = [item.box for item in placed]
    pairs = shapely.STRtree(boxes).query(boxes, predicate="intersects").T
    assert not [(placed[a].label.text, placed[b].label.text) for a, b in pairs if a < b]


@pytest.mark.parametrize("yard", YARDS)
def test_every_stake_stands_in_the_tables_once(yard: str) -> None:
    words = [text for page in set_out_pages(study_of(yard), staked(yard))[1:] for text in words_on(page)]
    for stake in staked(yard).stakes:
        assert words.count(stake.name) == 1


def test_every_finding_stands_on_the_caution_pages() -> None:
    study = study_of("alder-bend")
    text = " ".join(" ".join(words_on(page)) for page in caution_pages(study))
    for finding in study.review.findings:
        assert finding.text in text
    # And every check with its verdict: what is fine says what is so, what is not checked says for lack of what.
    for verdict in study.review.checks:
        said = f"for lack of {verdict.lack}" if verdict.word == "not checked" else verdict.check.holds
        assert f"{verdict.check.name}: {'told above' if verdict.findings else said}" in text


def test_a_stop_has_the_lines_that_close_it() -> None:
    study = study_of("alder-bend")
    stop = Finding("stop", "trees", "Said.", source="the site file")
    stopped = replace(study, review=replace(study.review, findings=(stop, *study.review.findings)))
    for one, count in ((study, 0), (stopped, 1)):
        text = " ".join(" ".join(words_on(page)) for page in caution_pages(one))
        assert text.count("Closed by this change:") == text.count("or allowed by (name):") == count


@pytest.mark.parametrize("interval", [0.1, 0.25, 0.5])
def test_contours_stand_at_the_interval_asked_for(interval: float) -> None:
    unit = unit_length("ft")
    subject = subject_of("alder-bend", DrawingOptions(interval=interval * unit))
    contours, used = plan_contours(subject, sheet_of(subject))
    assert used == pytest.approx(interval * unit)
    levels = np.unique([float(contour.text) for contour in contours])
    assert np.allclose(np.diff(levels), interval, atol=5e-3)


def test_an_interval_that_cannot_be_drawn_is_refused() -> None:
    elevation = study_of("alder-bend").ground.elevation
    rise = float(np.ptp(elevation))
    assert check_interval(rise / MOST_ASKED, elevation, "ft") == rise / MOST_ASKED
    for interval, said in ((rise / 400.0, "over 150 contours"), (2.0 * rise, "is more than"), (0.0, "no interval")):
        with pytest.raises(InputError, match=said):
            check_interval(interval, elevation, "ft")


def test_paper_is_taken_by_name_and_drawings_stay_to_a_round_scale() -> None:
    assert paper_named(" a2 ") == "A2"
    with pytest.raises(InputError, match=r"is not a paper.*letter"):
        paper_named("poster")
    small, large = (sheet_of(subject_of("alder-bend", DrawingOptions(paper=paper))) for paper in ("letter", "22x34"))
    assert large.paper == "22x34"
    assert large.scale.ratio < small.scale.ratio
    assert page_of_words("ft", "A2") == page_of_words("m")
    assert page_of_words("ft", "17x22") == page_of_words("ft")


@pytest.mark.slow
def test_the_file_is_vector_and_has_a_page_to_a_sheet(tmp_path: Path) -> None:
    path = save_book(pages("alder-bend"), tmp_path / NAME)
    text = path.read_bytes()
    assert len(re.findall(rb"/Type /Page\b", text)) == len(pages("alder-bend"))
    # Pictures would be image objects; everything here is lines and letters.
    assert b"/Subtype /Image" not in text


def test_a_set_has_a_title_of_its_own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Not that of its first sheet; and a file of parts is no part."""
    study, subject = study_of("alder-bend"), subject_of("alder-bend")
    monkeypatch.setattr(plan_set, "plan_set_pages", lambda *given: [plan_page(subject, [])])
    found = [draw_plan_set(study, tmp_path), draw_trees(subject, study.review, tmp_path / "trees.pdf")]
    sheet = replace(sheet_of(subject), part=Part(0, (), (study.site.bed.outline,) * 2, study.site.bed.outline))
    page = new_page(sheet.width, sheet.height)
    stamp_sheet(page, study.site, "Contour plan", sheet)
    assert "Contour plan, part 1 of 2" in " ".join(words_on(page))
    found.append(page.save(tmp_path / "plan.pdf"))
    titles = [str(PdfReader(path).metadata.title) for path in found]
    assert titles == [f"Alder Bend, front bed: {what}" for what in ("plan set", "Soil over roots", "Contour plan")]


def test_high_points_carry_their_elevation_and_height() -> None:
    subject = subject_of("alder-bend")
    sheet = sheet_of(subject)
    placed = plan_labels(subject, sheet, plan_contours(subject, sheet)[0])
    told = {item.label.text for item in placed if item.label.tag == "crest"}
    east, north, height = top_of_mound(subject.proposal)
    grade = float(subject.proposal.grid.sample(subject.proposal.elevation, np.array([[east, north]]))[0])
    feet = unit_length("ft")
    assert f"{grade / feet:.2f} ({height / feet * 12:.0f} in)" in told
    assert all(re.fullmatch(r"10[01]\.\d\d \(\d+( 1/[24]| 3/4)? in\)", text) for text in told)


def drawn_lines(page: Page) -> list[tuple[str, float, bool]]:
    """Colour, width in points and whether dashed, of every set of lines on a page."""
    from matplotlib.collections import LineCollection
    from matplotlib.colors import to_hex

    return [
        (to_hex(lines.get_colors()[0]), float(lines.get_linewidths()[0]), lines.get_linestyles()[0][1] is not None)
        for lines in page.axes.collections
        if isinstance(lines, LineCollection)
    ]


def test_existing_contours_are_dashed_and_proposed_ones_solid_and_heavier() -> None:
    lines = drawn_lines(pages("alder-bend")[0])
    existing = [(width, dashed) for colour, width, dashed in lines if colour == EXISTING]
    proposed = [(width, dashed) for colour, width, dashed in lines if colour == PROPOSED]
    assert existing
    assert all(dashed for _, dashed in existing)
    assert len({width for width, _ in proposed}) == 2  # some of them stronger
    assert not any(dashed for _, dashed in proposed)
    assert min(width for width, _ in proposed) > max(width for width, _ in existing)


@pytest.mark.parametrize("yard", ["alder-bend", pytest.param("larkspur-rise", marks=pytest.mark.slow)])
def test_no_letter_is_smaller_and_no_line_finer_than_a_print_shows(yard: str) -> None:
    """7 points is the least that print is set in, 0.25 points the finest line; common practice, no published source."""
    for page in pages(yard):
        assert min(text.get_fontsize() for text in page.axes.texts) >= LEAST
        assert min((width for _, width, _ in drawn_lines(page)), default=1.0) >= 0.25


@pytest.mark.parametrize("yard", YARDS)
@pytest.mark.parametrize("paper", ["letter", "tabloid", "A4", "A3"])
def test_a_rule_laid_on_the_paper_reads_what_the_scale_says(yard: str, paper: str) -> None:
    subject = subject_of(yard, DrawingOptions(paper=paper))
    sheet = sheet_of(subject)
    known = {f"1 in = {feet} ft": 12.0 * feet for feet in (1, 2, 4, 5, 8, 10, 20, 30, 40, 50)}
    known |= {f"1:{ratio}": float(ratio) for ratio in (10, 20, 25, 50, 100, 200, 250, 500)}
    ground = np.array([[0.0, 0.0], [3.0, 4.0]])  # 5 m apart
    points = float(np.hypot(*np.diff(sheet.points(ground), axis=0)[0]))
    assert points * 0.0254 / 72.0 * known[sheet.scale.text] == pytest.approx(5.0, rel=1e-9)
    width, height = NAMED[paper]
    assert sorted((sheet.width, sheet.height)) == pytest.approx(sorted((width, height)))
