"""The slope map: how steep the finished ground is, in a few steps that people know as run:rise."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from shapely.geometry.base import BaseGeometry

from terrain.grid import Array
from terrain.numerics import merged, overlap, without
from terrain.shape import retained_edges
from terrain.site import north_of
from terrain.units import show_length, show_slope
from viewer.page import (
    INK,
    NUMBER,
    PAPER,
    SOFT_INK,
    Label,
    Page,
    Pen,
    PlacedLabel,
    Seat,
    Sheet,
    Subject,
    Type,
    area_between,
    cut_gaps,
    hatch,
    label_box,
    marks,
    new_page,
    numbered,
    outline_entry,
    place,
    seats_along,
    stamp_sheet,
    top_of_mound,
    tree_circles,
)
from viewer.sheets import features, layers, sheet_of, width_fact

# Run to rise, gentle to steep. Turf drains from 50:1; mowers and published limits stand at 6:1 to 3:1.
STEPS = (50.0, 10.0, 6.0, 5.0, 4.0, 3.0)
# YlOrBr of ColorBrewer, seven classes, light to dark: marked there as safe for colour-blind readers.
TINTS = ("#ffffd4", "#fee391", "#fec44f", "#fe9929", "#ec7014", "#cc4c02", "#8c2d04")
OVER = 1e-3  # share of the limit; slopes on nodes are told no finer
APART = 3.0  # points of free map round a figure on a line
SPECK = 4.0  # cells: a smaller patch is not drawn


@dataclass(frozen=True)
class SlopeTint:
    """Ground of the bed whose slope lies between two run:rise figures: area in metres, slopes as rise/run."""

    area: BaseGeometry
    low: float
    high: float
    colour: str

    @property
    def words(self) -> str:
        """The step as people say it."""
        if self.low == 0.0:
            return f"flatter than {1.0 / self.high:g}:1"
        if math.isinf(self.high):
            return f"steeper than {1.0 / self.low:g}:1"
        return f"{1.0 / self.low:g}:1 to {1.0 / self.high:g}:1"


def node_slopes(subject: Subject) -> Array:
    """(ny, nx) slope of the finished ground at every node, rise/run."""
    north, east = np.gradient(subject.proposal.elevation, subject.proposal.grid.cell)
    return np.asarray(np.hypot(east, north))


def sloping_ground(subject: Subject) -> BaseGeometry:
    """The bed less what is no slope to walk or mow: digs, and the step at stones with a node on either side."""
    cell = subject.proposal.grid.cell
    stones = [edge.stones.union(edge.line).buffer(2.0 * cell) for edge in retained_edges(subject.site)]
    taken = merged([features.dug(subject.proposal).buffer(cell), *stones])
    return without(subject.site.bed.outline, taken)


def slope_steps(subject: Subject) -> list[SlopeTint]:
    """The steps that occur in the bed, gentle to steep."""
    edges = [0.0, *(1.0 / run for run in STEPS), math.inf]
    slopes, ground = node_slopes(subject), sloping_ground(subject)
    # Ground that stands at the limit belongs to the step under it: the last figures of a slope are not to be seen.
    lifted = [edge * (1.0 + OVER) for edge in edges]
    grid = subject.proposal.grid
    found = []
    for k, colour in enumerate(TINTS):
        low = -1.0 if k == 0 else lifted[k]
        area = overlap(area_between(grid, slopes, low, lifted[k + 1] if k + 1 < len(TINTS) else 1e6), ground)
        if area.area > SPECK * grid.cell**2:
            found.append(SlopeTint(area, edges[k], edges[k + 1], colour))
    return found


def draw_slope_map(subject: Subject, folder: Path) -> list[Path]:
    """Write slope.png (200 dots per inch) into `folder`."""
    (page,) = numbered([slope_page(subject)])
    return [page.save(folder / "slope.png")]


def slope_page(subject: Subject) -> Page:
    """The slope map as a page."""
    site, sheet = subject.site, sheet_of(subject)
    page = new_page(sheet.width, sheet.height)
    steps = slope_steps(subject)
    placed = map_labels(sheet, subject, steps)
    gaps = [item.box for item in placed]
    layers.draw_structures(page, sheet, site, gaps)
    for step in steps:
        shown = sheet.clipped(step.area)
        page.area(shown, step.colour)
        if step.low >= site.berm.max_slope * (1.0 - OVER):
            page.lines(cut_gaps([hatch(shown, 4.0, 0.0)], gaps), Pen(INK, 0.5))
    page.lines([sheet.clipped(step.area.boundary) for step in steps if step.low > 0.0], Pen(INK, 0.35))
    features.draw_digs(page, sheet, site, subject.proposal, gaps)
    layers.draw_trees(page, sheet, tree_circles(site), gaps)
    layers.draw_outline(page, sheet, site.bed.outline)
    features.draw_built(page, sheet, site)
    for item in placed:
        if item.label.tag == "slope":
            page.area(label_box(item.label, item.seat).buffer(0.8), PAPER)
    layers.write_labels(page, placed)
    marks.frame_line(page, sheet)
    marks.flow(page, sheet.panels, _columns(subject, sheet, steps))
    stamp_sheet(page, site, f"Slope of the {subject.grade} grade", sheet)
    return page


def map_labels(sheet: Sheet, subject: Subject, steps: Sequence[SlopeTint]) -> list[PlacedLabel]:
    """A run:rise figure on the lines between steps, and the names of what stands there."""
    site = subject.site
    labels = layers.structure_labels(sheet, site) + layers.tree_labels(sheet, site, tree_circles(site))
    labels += features.feature_labels(sheet, site, subject.proposal)
    kind = Type(NUMBER, INK, bold=True)
    inner = site.bed.outline.buffer(-2.0 * subject.proposal.grid.cell)
    for step in steps:
        if step.low == 0.0:
            continue
        line = sheet.clipped(overlap(step.area.boundary, inner))
        text = f"{1.0 / step.low:g}:1"
        labels += [
            Label(text, _with_room(seats_along(part, text, kind)[:60], text, kind), kind, 2, "slope")
            for part in layers.longest_first(line)[:1]
        ]
    soft = layers.soft_ground(sheet, site) + features.soft_features(sheet, site, subject.proposal)
    blocked = [sheet.shape(tree.circle(tree.flare)) for tree in tree_circles(site)]
    return place(labels, sheet.room.buffer(-3.0), blocked, soft)


def _with_room(seats: Sequence[Seat], text: str, kind: Type) -> tuple[Seat, ...]:
    """Seats of a figure that keeps so far off the next that two steps' figures are not read as one."""
    label = Label(text, tuple(seats), kind)
    return tuple(replace(seat, also=label_box(label, seat).buffer(APART)) for seat in seats)


def _columns(subject: Subject, sheet: Sheet, steps: Sequence[SlopeTint]) -> list[list[marks.Block]]:
    """The words beside the map, by columns."""
    site, limit = subject.site, subject.site.berm.max_slope
    entries: list[tuple[marks.Swatch, str]] = []
    for step in steps:
        steep = step.low >= limit * (1.0 - OVER)
        lines = (lambda patch: hatch(patch, 4.0, 0.0)) if steep else None
        share = 100.0 * step.area.area / site.bed.outline.area
        text = f"{step.words}, {share:.0f} % of the bed" if share >= 0.5 else f"{step.words}, a little"
        entries.append((marks.area_swatch(step.colour, Pen(SOFT_INK, 0.5), lines), text))
    entries += [outline_entry(), *layers.standing_legend(site), *features.feature_legend(site)]
    return [
        [
            marks.TitleBlock(f"Slope of the {subject.grade} grade", "Run to rise: 4:1 rises 1 in 4."),
            marks.ScaleBlock(sheet, north_of(site)),
        ],
        [marks.FactsBlock("Slopes", slope_facts(subject))],
        [marks.LegendBlock(entries)],
    ]


def slope_facts(subject: Subject) -> list[tuple[str, str]]:
    """Limit and steepest, and the other ratio that people use, named so that nobody takes one for the other."""
    height = top_of_mound(subject.proposal)[2]
    return [
        ("Side slope, limit (run:rise)", show_slope(subject.site.berm.max_slope)),
        ("Side slope, steepest (run:rise)", show_slope(subject.proposal.steepest)),
        ("Height", show_length(height, subject.site.units)),
        *width_fact(subject),
    ]
