"""The plan set: every drawing that the crew takes along, as one vector file, each sheet with its number.

Plan, sections, cut and fill, soil order, trees and cautions, set-out, streams where there are any: every page is a
sheet and is counted.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from terrain.field import set_out
from terrain.flow import Study
from viewer.page import CHOSEN, DrawingOptions, Page, numbered, save_book, subject_of
from viewer.sheets.cautions_page import caution_pages
from viewer.sheets.cutfill import cutfill_page
from viewer.sheets.order_page import order_page
from viewer.sheets.order_sheet import order_sheet
from viewer.sheets.plan import plan_page, sheet_of
from viewer.sheets.sections import sections_page
from viewer.sheets.setout_page import set_out_pages
from viewer.sheets.stream_page import stream_pages
from viewer.sheets.tree_page import tree_page

NAME = "plan-set.pdf"
FIRST = 5  # number of the first sheet behind plan, sections, cut and fill, and soil order


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
    return save_book(plan_set_pages(study, asked), folder / NAME)


def plan_set_pages(study: Study, asked: DrawingOptions = CHOSEN) -> list[Page]:
    """Every page in order, numbered by its sheet."""
    subject = subject_of(study, asked)
    # Where every finding stands whole: behind the first four sheets and those of the trees.
    cautions = f"the cautions, sheet {FIRST + len(study.review.trees)}"
    trees = [tree_page(subject, check, study.review.findings, cautions) for check in study.review.trees]
    sheets = [
        [plan_page(subject, study.review, cautions)],
        [sections_page(subject, whole=True)],
        [cutfill_page(subject)],
        [order_page(order_sheet(study), asked.paper)],
        [*trees, *caution_pages(study, asked.paper)],
        set_out_pages(study, set_out(study), asked, sheet_of(subject).paper),
        *([stream_pages(study, asked.paper)] if study.streams else []),
    ]
    return numbered([page for pages in sheets for page in pages])
