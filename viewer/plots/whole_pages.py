"""Every drawing that is one page, laid whole on axes that the caller has, or on a new figure."""

from __future__ import annotations

from typing import TYPE_CHECKING

from terrain.field import where_next
from terrain.flow import Study
from viewer.page import subject_of
from viewer.pictures import (
    Overview,
    eye_pages,
    hillshade_page,
    sign_page,
    skyline_page,
    slope_page,
    view_page,
)
from viewer.plots.on_axes import plotted
from viewer.sheets import (
    GroundSubject,
    cutfill_page,
    deviation_page,
    ground_page,
    plan_page,
    sections_page,
    water_page,
)

if TYPE_CHECKING:
    from matplotlib.axes import Axes


def plot_plan(study: Study, ax: Axes | None = None) -> Axes:
    """The contour plan: existing and proposed grade, trees, outline, depths.

    Parameters
    ----------
    study
        A yard worked through, by `run_site`.
    ax
        Axes to draw on, whose size holds when this is called; None: those of a new figure. It is answered.

    Raises
    ------
    InputError
        Where something else than a study arrives.
    """
    return plotted(study, ax, lambda: plan_page(subject_of(study), study.review.findings))


def plot_sections(study: Study, ax: Axes | None = None) -> Axes:
    """The sections through the mound, as `plot_plan` takes and answers axes."""
    return plotted(study, ax, lambda: sections_page(subject_of(study)))


def plot_cutfill(study: Study, ax: Axes | None = None) -> Axes:
    """Cut and fill by depth, as `plot_plan` takes and answers axes."""
    return plotted(study, ax, lambda: cutfill_page(subject_of(study)))


def plot_slopes(study: Study, ax: Axes | None = None) -> Axes:
    """How steep the finished ground is, as `plot_plan` takes and answers axes."""
    return plotted(study, ax, lambda: slope_page(subject_of(study)))


def plot_hillshade(study: Study, ax: Axes | None = None) -> Axes:
    """The finished ground under a low light, as `plot_plan` takes and answers axes."""
    return plotted(study, ax, lambda: hillshade_page(subject_of(study)))


def plot_skyline(study: Study, ax: Axes | None = None) -> Axes:
    """The mound's outline against what stands behind it, as `plot_plan` takes and answers axes."""
    return plotted(study, ax, lambda: skyline_page(subject_of(study)))


def plot_signs(study: Study, ax: Axes | None = None) -> Axes:
    """The profiles on which the signs of an unnatural shape show, as `plot_plan` takes and answers axes."""
    return plotted(study, ax, lambda: sign_page(subject_of(study), study.review.look))


def plot_water(study: Study, ax: Axes | None = None) -> Axes:
    """Where water runs and stands, as `plot_plan` takes and answers axes."""
    return plotted(study, ax, lambda: water_page(subject_of(study), study.review.water, study.review.findings))


def plot_ground(study: Study, ax: Axes | None = None) -> Axes:
    """The existing grade with its shots and the places to shoot next, as `plot_plan` takes and answers axes."""
    return plotted(study, ax, lambda: ground_page(GroundSubject(study, where_next(study))))


def plot_sureness(study: Study, ax: Axes | None = None) -> Axes:
    """How sure the existing grade is, as `plot_plan` takes and answers axes."""
    return plotted(study, ax, lambda: deviation_page(GroundSubject(study, where_next(study))))


def plot_view(study: Study, ax: Axes | None = None) -> Axes:
    """The yard from above and aside, as `plot_plan` takes and answers axes."""
    return plotted(study, ax, lambda: view_page(Overview(subject_of(study))))


def plot_eye_view(study: Study, ax: Axes | None = None) -> Axes:
    """Before and after from the first place to look from, as `plot_plan` takes and answers axes."""
    return plotted(study, ax, lambda: next(eye_pages(subject_of(study)))[1])
