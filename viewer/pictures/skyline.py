"""The skyline: the mound's upper edge from each place against the ground behind it, one scale both ways."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np
import shapely
from shapely.geometry import LineString, Polygon, box

from terrain.grid import Array, Mask
from terrain.numerics import overlap
from terrain.units import Units, show_length, unit_length
from viewer.page import (
    EXISTING,
    FAINT,
    FILL_STEPS,
    INK,
    PROPOSED,
    SOFT_INK,
    Page,
    Pen,
    Subject,
    Type,
    hatch,
    new_page,
    wrap,
)
from viewer.pictures.eye_camera import FARTHEST, NEAREST, STEPS, EyeView, eye_view
from viewer.pictures.heads import LEAST_HEAD, LEAST_NAME, beyond_one, set_heading
from viewer.pictures.standpoints import Standpoint, standpoints

WIDE, EDGE, DOTS = 585.0, 18.0, 144.0
TITLE, HEAD = Type(21.0, INK, bold=True, title=True), Type(16.0, INK, bold=True)
SMALL = Type(13.5, SOFT_INK)
COLUMNS = 700  # lines of sight across a drawing
LEAST = 0.005  # metres of fill; less is no mound to an eye
ROOM = 14.0  # points of sky and ground beyond the lines


@dataclass(frozen=True)
class Skyline:
    """Upper edges of the bed's ground as seen from one place, carried to the distance of the bed's middle.

    Parameters
    ----------
    across
        (n,) metres to the right of the line of sight.
    before
        (n,) upper edge of the bed as it is, metres over the eye's level; NaN where the line of sight misses the bed.
    foot, after
        (n,) lower and upper edge of the mound, NaN where the line of sight misses it.
    beyond
        (n,) the highest ground behind the bed.
    distance
        Metres from the eye to the bed's middle.
    """

    across: Array
    before: Array
    foot: Array
    after: Array
    beyond: Array
    distance: float


def skyline_of(subject: Subject, stand: Standpoint) -> Skyline:
    """Highest line of sight to the bed, before and after, in every direction from one place."""
    view = eye_view(subject, stand, COLUMNS)
    grid, outline = subject.ground.grid, subject.site.bed.outline
    columns: Array = np.asarray((np.arange(COLUMNS) + 0.5 - COLUMNS / 2.0) / view.focal)
    depths = _depths(subject, view)
    places = _places(view, columns, depths)
    flat = places.reshape(-1, 2)
    shapely.prepare(outline)
    inside = shapely.contains_xy(outline, flat[:, 0], flat[:, 1]).reshape(COLUMNS, STEPS)
    past = ~inside & (np.arange(STEPS) > np.where(inside, np.arange(STEPS), -1).max(axis=1)[:, None])
    middle = np.array(outline.centroid.coords[0]) - np.array(view.eye[:2])
    distance = max(float(middle @ view.forward), NEAREST)

    def rise(values: Array) -> Array:
        return (grid.sample(values, flat).reshape(COLUMNS, STEPS) - view.eye[2]) / depths * distance

    existing, proposed = rise(subject.ground.elevation), rise(subject.proposal.elevation)
    mound = inside & (grid.sample(subject.proposal.fill, flat).reshape(COLUMNS, STEPS) > LEAST)
    return Skyline(
        across=columns * distance,
        before=_edge(existing, inside),
        foot=-_edge(-proposed, mound),
        after=_edge(proposed, mound),
        beyond=_edge(existing, past),
        distance=distance,
    )


def _depths(subject: Subject, view: EyeView) -> Array:
    """(STEPS,) depths in metres: most of them on the bed, so that its edges come out smooth."""
    corners = shapely.get_coordinates(subject.site.bed.outline.exterior)
    _, depth = view.project(np.column_stack([corners, np.zeros(len(corners))]))
    near, far = max(0.98 * float(depth.min()), NEAREST), max(1.02 * float(depth.max()), 2.0 * NEAREST)
    on_bed = np.geomspace(near, far, STEPS - STEPS // 8, endpoint=False)
    return np.concatenate([on_bed, np.geomspace(far, max(FARTHEST, 2.0 * far), STEPS // 8)])


def _edge(rise: Array, where: Mask) -> Array:
    """(columns,) highest rise of each line of sight where the mask holds, NaN where it never does."""
    highest: Array = np.where(where.any(axis=1), np.where(where, rise, -np.inf).max(axis=1), np.nan)
    return highest


def _places(view: EyeView, columns: Array, depths: Array) -> Array:
    """(columns, depths, 2) survey places along every line of sight."""
    ways = view.forward + columns[:, None] * view.right
    return np.asarray(np.array(view.eye[:2]) + depths[None, :, None] * ways[:, None, :])


def draw_skyline(subject: Subject, folder: Path) -> list[Path]:
    """Write skyline.png into `folder`: a drawing for each place, one over the other."""
    return [skyline_page(subject).save(folder / "skyline.png", dpi=DOTS)]


def skyline_page(subject: Subject) -> Page:
    """All skylines on one page."""
    stands = standpoints(subject.site, subject.ground)
    lines = [skyline_of(subject, stand) for stand in stands]
    sizes = [(WIDE - 2 * EDGE) / float(np.ptp(line.across)) for line in lines]
    heights = [_height(line, size) for line, size in zip(lines, sizes, strict=True)]
    across = WIDE - 2 * EDGE
    told = wrap(_wording(), SMALL, across)
    names = [f"From the {stand.name}" for stand in stands]
    head = 66.0 + beyond_one(subject.site.name, SMALL, across, LEAST_NAME)
    over = sum(34.0 + beyond_one(name, HEAD, across, LEAST_HEAD) for name in names)
    page = new_page(WIDE, head + sum(heights) + over + 18.0 * len(told) + 2 * EDGE)
    page.text(EDGE, page.height - 32.0, "Skyline of the mound", TITLE)
    set_heading(page, (EDGE, page.height - 54.0), subject.site.name, SMALL, across, LEAST_NAME)
    top = page.height - head
    for name, line, size, high in zip(names, lines, sizes, heights, strict=True):
        top -= 34.0 + set_heading(page, (EDGE, top - 18.0), name, HEAD, across, LEAST_HEAD)
        _draw(page, line, size, (EDGE, top - high, WIDE - EDGE, top), subject.site.units)
        top -= high
    for number, text in enumerate(told):
        page.text(EDGE, EDGE + 18.0 * (len(told) - 1 - number), text, SMALL)
    return page


def _wording() -> str:
    return (
        "As the eye sees it, one scale both ways. Hatched: the mound, its upper edge strong. Dashed: upper edge of the "
        "bed as it is. Thin: the ground behind. The upright scale stands at the bed's middle."
    )


def _span(line: Skyline) -> tuple[float, float]:
    known = np.concatenate(
        [values[np.isfinite(values)] for values in (line.before, line.foot, line.after, line.beyond)]
    )
    return (float(known.min()), float(known.max())) if known.size else (0.0, 0.0)


def _height(line: Skyline, size: float) -> float:
    low, high = _span(line)
    return float(np.clip((high - low) * size + 3 * ROOM, 60.0, 260.0))


def _draw(page: Page, line: Skyline, size: float, frame: tuple[float, float, float, float], units: Units) -> None:
    """One skyline in its frame, the higher part of it where not all fits."""
    left, bottom, right, top = frame
    high = _span(line)[1]

    def points(values: Array) -> Array:
        return np.column_stack([left + (line.across - line.across[0]) * size, top - ROOM - (high - values) * size])

    room = box(*frame)
    raised = np.isfinite(line.after)
    if raised.sum() > 1:
        both = np.vstack([points(line.foot)[raised], points(line.after)[raised][::-1]])
        area = overlap(Polygon(both), room)
        page.area(area, FILL_STEPS[1], 0.55)
        page.lines(hatch(area, 5.0, 60.0), Pen(PROPOSED, 0.4))
        page.lines(area, Pen(PROPOSED, 0.6))
    for values, pen in (
        (line.beyond, Pen(SOFT_INK, 0.7)),
        (line.before, Pen(EXISTING, 1.3, (5.0, 3.0))),
        (line.after, Pen(PROPOSED, 2.4)),
    ):
        known = np.isfinite(values)
        if known.sum() > 1:
            page.lines(LineString(points(values)[known]).intersection(room), pen)
    _scale(page, size, (left, bottom, right, top), units)


def _scale(page: Page, size: float, frame: tuple[float, float, float, float], units: Units) -> None:
    """An upright scale of one foot, or half a metre, at the right of a drawing."""
    tall = unit_length("ft") if units == "ft" else 0.5
    right, foot = frame[2] - 6.0, frame[1] + 6.0
    page.lines(LineString([(frame[0], frame[1]), (frame[2], frame[1])]), Pen(FAINT, 0.6))
    for up in (foot, foot + tall * size):
        page.lines(LineString([(right - 7.0, up), (right, up)]), Pen(INK, 1.2))
    page.lines(LineString([(right - 3.5, foot), (right - 3.5, foot + tall * size)]), Pen(INK, 1.2))
    text = "1 ft" if units == "ft" else show_length(tall, units)
    page.text(right - 12.0, foot + tall * size / 2 - 5.0, text, SMALL, "right")
