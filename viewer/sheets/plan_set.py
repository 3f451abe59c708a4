"""The plan set: every drawing that the crew takes along, as one vector file, each sheet with its number.

Plan, sections, cut and fill, soil order, trees and cautions, set-out, streams where there are any: every page is a
sheet and is counted.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path

from terrain.field import SetOut, set_out
from terrain.flow import Study
from viewer.page import CHOSEN, DrawingOptions, Page, Stamp, numbered, papers, save_book, subject_of, titled
from viewer.sheets.cautions_page import caution_pages
from viewer.sheets.cutfill import cutfill_page
from viewer.sheets.order_page import CAUTION as ORDER_CAUTION, order_page
from viewer.sheets.order_sheet import order_sheet
from viewer.sheets.plan import plan_page, sheets_of
from viewer.sheets.sections import sections_page
from viewer.sheets.setout_page import names_every_stake, set_out_pages
from viewer.sheets.stream_page import CAUTION as STREAM_CAUTION, stream_pages
from viewer.sheets.tree_page import CAUTION as TREE_CAUTION, tree_page
from viewer.sheets.words_on_sheets import pages_on, pages_to_a_sheet

NAME = "plan-set.pdf"


def draw_plan_set(
    study: Study, folder: Path, asked: DrawingOptions = CHOSEN, progress: Callable[[str], None] = lambda words: None
) -> Path:
    """Write plan-set.pdf into an existing folder.

    Parameters
    ----------
    study
        The yard worked through.
    folder
        Where it goes.
    asked
        Contour interval and paper, where they are not to be chosen here. Pages of words stay letter or A4.
    progress
        Called with a few words before the work begins.

    Raises
    ------
    InputError
        Where the site has no two known points that place every stake.
    """
    progress("drawing the plan set")
    return save_book(plan_set_pages(study, asked), folder / NAME, titled(study.site, "plan set"))


def plan_set_pages(study: Study, asked: DrawingOptions = CHOSEN) -> list[Page]:
    """Every page in order, numbered; all of one paper, which lies or stands one way."""
    stakes, site, checks = set_out(study), study.site, study.review.trees
    paper = set_paper(study, stakes, asked)
    asked = replace(asked, paper=paper)
    subject = subject_of(study, asked)
    # Where every finding stands whole: behind plan, sections, cut and fill, the order and the trees.
    parts = sheets_of(subject)
    before = 2 + 2 * len(parts) + (1 + len(checks)) // pages_to_a_sheet(paper, site)
    cautions = f"the cautions, sheet {before}"

    def told() -> Iterator[Page]:
        yield order_page(order_sheet(study), paper)
        yield from (tree_page(subject, check, study.review.findings, cautions) for check in checks)
        yield from caution_pages(study, paper)

    sheets = [plan_page(subject, study.review, cautions, sheet) for sheet in parts]
    sheets += [sections_page(subject, whole=True), *(cutfill_page(subject, sheet) for sheet in parts)]
    sheets += pages_on(
        paper, Stamp(site, "Soil order, trees and cautions", caution=f"{ORDER_CAUTION} {TREE_CAUTION}"), told
    )
    sheets += set_out_pages(study, stakes, asked)
    if study.streams:
        sheets += pages_on(paper, Stamp(site, "Streams", caution=STREAM_CAUTION), lambda: stream_pages(study, paper))
    return numbered(sheets)


def set_paper(study: Study, stakes: SetOut, asked: DrawingOptions) -> str:
    """The paper of a set: the plan's, or the next larger one on which every stake is named too."""
    plan = sheets_of(subject_of(study, asked))[0].paper
    series = papers(study.site.units, asked.paper)
    larger = series[series.index(plan) :]
    return next((name for name in larger if names_every_stake(study, stakes, replace(asked, paper=name))), plan)
