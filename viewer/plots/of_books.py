"""The drawing of each book of several pages, without its words and tables, on axes."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, TypeVar

from terrain.errors import InputError
from terrain.expect import expect
from terrain.field import AsBuilt, crew_day, set_out, where_next
from terrain.flow import Study
from terrain.language import ENGLISH
from terrain.units import as_written
from viewer.page import subject_of
from viewer.plots.on_axes import plotted
from viewer.sheets import (
    GroundSubject,
    as_built_map,
    draw_squares,
    long_section,
    order_sheet,
    roots_map,
    scan_map,
    soil_curve,
    stakes_map,
)

if TYPE_CHECKING:
    from matplotlib.axes import Axes

Named = TypeVar("Named")


def plot_order(study: Study, ax: Axes | None = None) -> Axes:
    """Soil for each height of the mound, and this order on the curve, as `plot_plan` takes and answers axes.

    The yard is worked through once for each height.
    """
    return plotted(study, ax, lambda: soil_curve(order_sheet(study)))


def plot_tree(study: Study, ax: Axes | None = None, tree: str = "") -> Axes:
    """The ground about one tree with its circles and the soil on its roots, as `plot_plan` takes and answers axes.

    `tree` is its name; "": the first of the site file. `InputError` lists the names where it is none of them.
    """
    expect("plot", study=(study, Study))
    checks = study.review.trees
    check = _named("plot: tree", tree, checks, [one.name for one in checks])
    return plotted(study, ax, lambda: roots_map(subject_of(study), check))


def plot_set_out(study: Study, ax: Axes | None = None) -> Axes:
    """The plan of stakes, as `plot_plan` takes and answers axes."""
    return plotted(study, ax, lambda: stakes_map(study, set_out(study)))


def plot_crew_squares(study: Study, ax: Axes | None = None) -> Axes:
    """The mound in squares that hold barrows, lift by lift, as `plot_plan` takes and answers axes."""
    expect("plot", study=(study, Study))
    stakes = set_out(study)
    return plotted(study, ax, lambda: draw_squares(study, stakes, crew_day(study, stakes), ENGLISH))


def plot_stream(study: Study, ax: Axes | None = None, stream: str = "") -> Axes:
    """The long section of one stream with its basin, as `plot_plan` takes and answers axes.

    `stream` is its name; "": the first of the site file. `InputError` lists the names where it is none of them.
    """
    expect("plot", study=(study, Study))
    needs = _named("plot: stream", stream, study.streams, [one.materials.name for one in study.streams])
    return plotted(study, ax, lambda: long_section(needs, study.site.units))


def plot_scan(study: Study, ax: Axes | None = None) -> Axes:
    """What a scan was taken for, as `plot_plan` takes and answers axes; `InputError` where the survey has none."""
    expect("plot", study=(study, Study))
    if study.site.survey.scan is None:
        raise InputError("plot: scan", "the survey has none.", "Add scan under [survey].")
    return plotted(study, ax, lambda: scan_map(GroundSubject(study, where_next(study))))


def plot_as_built(study: Study, check: AsBuilt, ax: Axes | None = None) -> Axes:
    """What was built, against the plan, by `check_as_built`, as `plot_plan` takes and answers axes."""
    expect("plot", study=(study, Study), check=(check, AsBuilt))
    return plotted(study, ax, lambda: as_built_map(study, check))


def _named(where: str, name: str, values: Sequence[Named], names: Sequence[str]) -> Named:
    """The value of a name; the first for ""."""
    for value, own in zip(values, names, strict=True):
        if name in ("", own):
            return value
    accepted = f"Accepted: {', '.join(names)}." if names else "The site file names none."
    raise InputError(where, f"{as_written(name)} is not there.", accepted)
