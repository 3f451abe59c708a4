"""Every drawing of a yard, each by its name, as pages that are laid out whole and not yet written to a file."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping

import numpy as np

from terrain.field.asbuilt.as_built import check_as_built
from terrain.field.asbuilt.model import AsBuilt, BuiltShots
from terrain.field.next_places import where_next
from terrain.field.setout.set_out import grades, set_out
from terrain.flow import Study
from terrain.ground.existing import points_over
from viewer.page.page import Page
from viewer.page.subject import subject_of
from viewer.pictures import eye_level
from viewer.pictures.contact_sheet import contact_pages
from viewer.pictures.forms import Frame
from viewer.pictures.hillshade import hillshade_page
from viewer.pictures.overview import Overview
from viewer.pictures.sign_profiles import sign_page
from viewer.pictures.skyline import skyline_page
from viewer.pictures.slope_map import slope_page
from viewer.pictures.view import view_page
from viewer.sheets.asbuilt_map import as_built_pages
from viewer.sheets.cautions_page import caution_pages
from viewer.sheets.cutfill import cutfill_page
from viewer.sheets.ground_page import ground_pages
from viewer.sheets.ground_subject import GroundSubject
from viewer.sheets.order_page import order_page, working_page
from viewer.sheets.order_sheet import order_sheet
from viewer.sheets.plan import plan_page, sheet_of
from viewer.sheets.plan_set import plan_set_pages
from viewer.sheets.sections import sections_page
from viewer.sheets.setout_page import set_out_pages
from viewer.sheets.tree_page import tree_pages
from viewer.sheets.water_map import water_page


def built_low(study: Study) -> AsBuilt:
    """The check of a mound built 5 cm low, on shots over the bed."""
    over = points_over(study.site.bed.outline, 30)
    at = over + np.random.default_rng(5).uniform(-0.1, 0.1, over.shape)  # off one line on the thinnest bed
    _, _, day_one = grades(study, at)
    low = BuiltShots(
        np.column_stack([at, day_one - 0.05]), tuple(f"B{k}" for k in range(len(at))), ("",) * len(at), "built.csv"
    )
    return check_as_built(study, low, "day one")


def as_built_sheet(study: Study) -> list[Page]:
    """The map of that."""
    return as_built_pages(study, built_low(study), [sheet_of(subject_of(study))])


def stake_sheets(study: Study) -> Iterable[Page]:
    """Plan and tables of the stakes."""
    return set_out_pages(study, set_out(study))


def ground_sheets(study: Study) -> Iterable[Page]:
    """The existing grade, and how sure it is."""
    return ground_pages(GroundSubject(study, where_next(study)))


def signs_sheet(study: Study) -> Page:
    """The profiles on which the signs are shown."""
    return sign_page(subject_of(study), study.review.look)


DRAWINGS: Mapping[str, Callable[[Study], Page | Iterable[Page]]] = {
    "plan": lambda study: plan_page(subject_of(study), study.review.findings),
    "sections": lambda study: sections_page(subject_of(study)),
    "cut and fill": lambda study: cutfill_page(subject_of(study)),
    "order": lambda study: [order_page(order_sheet(study)), working_page(order_sheet(study))],
    "trees": lambda study: [
        page for check in study.review.trees for page in tree_pages(subject_of(study), check, study.review.findings)
    ],
    "set-out": stake_sheets,
    "water": lambda study: water_page(subject_of(study), study.review.water, study.review.findings),
    "as-built": as_built_sheet,
    "ground": ground_sheets,
    "cautions": lambda study: caution_pages(study),
    "plan set": plan_set_pages,
    "eye views": lambda study: [page for _, page in eye_level.eye_pages(subject_of(study))],
    "skyline": lambda study: skyline_page(subject_of(study)),
    "slope": lambda study: slope_page(subject_of(study)),
    "signs": signs_sheet,
    "hillshade": lambda study: hillshade_page(subject_of(study)),
    "contact sheet": lambda study: (
        lay() for lay in contact_pages([Frame("as drawn", study), Frame("1  the same", study)])
    ),
    "view": lambda study: view_page(Overview(subject_of(study))),
}


def drawn(name: str, study: Study) -> list[Page]:
    """The pages of one drawing."""
    pages = DRAWINGS[name](study)
    return [pages] if isinstance(pages, Page) else list(pages)
