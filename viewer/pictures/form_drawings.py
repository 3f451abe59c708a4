"""Plan and section of one form, small, at scales that all forms on a sheet share."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from shapely.geometry import LineString, Polygon, box

from terrain.grid import Array
from terrain.numerics import overlap, sound
from viewer.page import (
    BUILDING,
    KEEP_OFF,
    KEEP_OFF_PEN,
    OUTLINE_PEN,
    PROPOSED,
    SOFT_INK,
    SOIL,
    TREE,
    WALK,
    Bounds,
    Page,
    Pen,
    Scale,
    Sheet,
    Subject,
    contour_interval,
    contour_lines,
    footprint,
    hatch,
    levels_between,
    section_lines,
    tree_circles,
)
from viewer.pictures.eye_camera import EyeView
from viewer.sheets import Profile, bands, profile_of, walk_hatch

ROUND = 0.07  # share of the bed's length shown round it on the small plans


@dataclass(frozen=True)
class Scales:
    """What every form is shown with: the ground on the plans, the view, the contour interval.

    `tallest` is the deepest fill of all forms, metres, which the tints of depth go by; `longest` and `highest` are the
    length and the height of the longest and the highest section, metres; `bed` is the outline as drawn.
    """

    window: Bounds
    view: EyeView
    interval: float
    tallest: float
    longest: float
    highest: float
    bed: Polygon

    def section_high(self, size: float) -> float:
        """Points that a section takes at `size` points to a metre."""
        return size * self.highest + 0.02 * size * self.longest


def scales_for(subjects: Sequence[Subject], view: EyeView) -> Scales:
    """One set of scales for all forms; the first is the mound as drawn."""
    first = subjects[0]
    west, south, east, north = first.site.bed.outline.bounds
    margin = ROUND * max(east - west, north - south)
    window = west - margin, south - margin, east + margin, north + margin
    tallest = max((subject.proposal for subject in subjects), key=lambda one: float(one.fill.max()))
    on_mound = tallest.elevation[tallest.fill > 0.0]
    levels = on_mound if on_mound.size else first.ground.elevation
    interval = contour_interval(float(levels.min()), float(levels.max()), first.site.units)
    profiles = [_profile(subject) for subject in subjects]
    return Scales(
        window,
        view,
        interval,
        float(tallest.fill.max()),
        max(one.section.length for one in profiles),
        max(one.high - one.low for one in profiles),
        first.site.bed.outline,
    )


def _profile(subject: Subject) -> Profile:
    """The section along the bed, through the top of the mound."""
    return profile_of(subject, section_lines(subject.site, subject.proposal)[0])


def draw_section(page: Page, subject: Subject, scales: Scales, size: float, left: float, top: float) -> None:
    """Existing and proposed grade along the bed, heights true, at `size` points to a metre."""
    profile = _profile(subject)
    foot = top - scales.section_high(size) + 0.01 * size * scales.longest

    def points(values: Array) -> Array:
        return np.column_stack([left + size * profile.stations, foot + size * (values - profile.low)])

    soil = sound(Polygon(np.vstack([points(profile.existing), points(profile.proposed)[::-1]])))
    page.area(soil, SOIL)
    page.lines(hatch(soil, 5.0, 60.0), Pen(PROPOSED, 0.4))
    page.lines(LineString(points(profile.existing)), Pen(SOFT_INK, 1.0, (5.0, 3.0)))
    page.lines(LineString(points(profile.proposed)), Pen(PROPOSED, 1.6))


def draw_plan(page: Page, subject: Subject, scales: Scales, frame: Bounds) -> None:
    """Outline, contours on the mound over the tints of its depth, keep-offs, trunks, buildings."""
    left, bottom, right, top = frame
    west, south, east, north = scales.window
    size = min((right - left) / (east - west), (top - bottom) / (north - south))
    reach = (right - left) / size / 2.0, (top - bottom) / size / 2.0
    middle = (west + east) / 2.0, (south + north) / 2.0
    window = middle[0] - reach[0], middle[1] - reach[1], middle[0] + reach[0], middle[1] + reach[1]
    ratio = 72.0 / 0.0254 / size
    sheet = Sheet("", page.width, page.height, Scale(ratio, ""), frame, window, (), subject.site.units)
    site, proposal = subject.site, subject.proposal
    for area, colour in [(c.outline, WALK) for c in site.keep_clear] + [(b.outline, BUILDING) for b in site.building]:
        shown = sheet.clipped(area)
        page.area(shown, colour)
        page.lines(hatch(shown, 7.0) if colour == BUILDING else walk_hatch(shown), Pen(SOFT_INK, 0.4))
    page.lines(sheet.clipped(scales.bed.exterior), Pen(SOFT_INK, 0.8, (4.0, 3.0)))
    page.area(sheet.clipped(site.bed.outline), SOIL, 0.6)
    for band in bands(proposal, subject.ground, site.units, scales.tallest):
        page.area(sheet.clipped(band.area), band.colour, 0.75)
    levels = levels_between(float(proposal.elevation.min()), float(proposal.elevation.max()), scales.interval)
    covered = footprint(proposal)
    for line in contour_lines(proposal.grid, proposal.elevation, levels):
        page.lines(sheet.clipped(overlap(line, covered)), Pen(PROPOSED, 1.0))
    for tree in tree_circles(site):
        disc = sheet.clipped(tree.circle(tree.keep_off))
        page.lines(hatch(disc, 7.0, -45.0), Pen(KEEP_OFF, 0.3))
        page.lines(sheet.clipped(tree.circle(tree.keep_off).exterior), KEEP_OFF_PEN)
        page.area(sheet.clipped(tree.circle(max(tree.tree.trunk / 2.0, 0.1))), TREE)
    page.lines(sheet.clipped(site.bed.outline.exterior), OUTLINE_PEN)
    page.lines(box(*frame), Pen(SOFT_INK, 0.6))
