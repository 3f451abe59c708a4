"""Axes of the drawing library's for a drawing: those that the caller has, or those of a new figure."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from terrain.errors import InputError
from terrain.expect import expect
from terrain.flow import Study
from viewer.page import Page, drawn_on

if TYPE_CHECKING:
    from matplotlib.axes import Axes

_WIDE, _HIGH = 11.0, 8.5  # inches of a figure that nobody gave: a page of letter paper


def plotted(study: Study, ax: Axes | None, draw: Callable[[], Page]) -> Axes:
    """Draw a page of a study on axes, and answer these; `InputError` names what is no study and no axes."""
    expect("plot", study=(study, Study))
    if ax is None:
        from matplotlib import pyplot

        ax = pyplot.figure(figsize=(_WIDE, _HIGH), layout="none").add_axes((0.0, 0.0, 1.0, 1.0))
    elif not hasattr(ax, "set_axis_off"):
        raise InputError(
            "plot: ax", f"a {type(ax).__name__} arrived.", "Accepted: axes of matplotlib, such as plt.gca()."
        )
    with drawn_on(ax):
        draw()
    return ax
