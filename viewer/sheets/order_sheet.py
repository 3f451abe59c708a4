"""What the order sheet is drawn from."""

from __future__ import annotations

from dataclasses import dataclass

from terrain.field import told_first
from terrain.flow import Study
from terrain.site import Site
from terrain.soil import HeightRow, Order, Trim, top_height, what_if_words


@dataclass(frozen=True)
class OrderSheet:
    """What the sheet shows.

    Parameters
    ----------
    site, order
        The yard and its order.
    heights, trim
        The same mound at other heights, and the one that saves the last truck.
    scale, top
        Factor on the wished heights of this order's mound, and its top over existing grade, metres.
    what_if
        What is different from the site file, in words.
    first
        What is said before the figures: that the ground is a guess, or may be upside down.
    """

    site: Site
    order: Order
    heights: tuple[HeightRow, ...]
    trim: Trim | None
    scale: float
    top: float
    what_if: str
    first: tuple[str, ...] = ()


def order_sheet(study: Study) -> OrderSheet:
    """The sheet of a study."""
    return OrderSheet(
        study.site,
        study.order,
        study.heights,
        study.trim,
        study.proposal.height_scale,
        top_height(study.proposal),
        what_if_words(study.site, study.proposal, study.asked),
        told_first(study),
    )
