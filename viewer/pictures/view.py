"""view.png: the mound as built, large, and in a corner the yard as it is; heights true."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np
from shapely import affinity
from shapely.geometry import LineString, Polygon, box

from terrain.grid import Array
from terrain.numerics import overlap
from terrain.units import show_length
from viewer.page import (
    INK,
    KEEP_OFF,
    OUTLINE,
    PAPER,
    PROPOSED,
    SOFT_INK,
    Label,
    Page,
    Pen,
    Seat,
    Subject,
    Type,
    contour_lines,
    footprint,
    heading_lines,
    levels_between,
    new_page,
    place,
    text_size,
    top_of_mound,
    tree_circles,
    wrap,
    yard_bounds,
)
from viewer.pictures.heads import beyond_one, set_heading
from viewer.pictures.hillshade import mound_interval
from viewer.pictures.in_sight import in_sight, on_ground
from viewer.pictures.overview import SIZE, Overview
from viewer.pictures.planting import planting_words
from viewer.still import Still

NAME = "view.png"
INSET = 0.27  # share of the picture's width that the view before building takes
BEFORE_WIDE = round(SIZE[0] * INSET)
LEAST_TITLE = 24.0  # pixels: a title set smaller takes a second line
_DRAWN = 14  # of 255: so far from the paper's tone a pixel shows something
_CONTOUR, _OUTLINE = Pen(PROPOSED, 1.1), Pen(OUTLINE, 1.4, (7.0, 3.0))


def draw_view(subject: Subject, folder: Path) -> Path:
    """Write view.png (1600 by 900 pixels) into an existing folder."""
    return view_page(Overview(subject)).save(folder / NAME, dpi=72.0)


def view_page(seen: Overview) -> Page:
    """The picture with its words and, in a corner, the yard as it is."""
    wide, high = SIZE
    after, before = seen.still(True), seen.still(False, BEFORE_WIDE)
    page = new_page(wide, high)
    page.picture(after.pixels, (0.0, 0.0, wide, high))
    lay_lines(page, seen, after)
    inset = _free_corner(after)
    frame = box(*inset)
    page.area(frame, PAPER)
    page.picture(before.pixels, inset)
    page.lines(frame, Pen(SOFT_INK, 1.5))
    page.text(inset[0] + 12.0, inset[3] - 30.0, "Before", Type(24.0, INK, bold=True))
    name = seen.subject.site.name
    head = write_title(page, name, (1.0 - INSET) * wide - 102.0)
    write_caption(page, caption(seen))
    name_things(page, seen, [frame, head])
    return page


def write_title(page: Page, words: str, width: float) -> Polygon:
    """The picture's title in its upper left corner, on ground of its own, which is answered."""
    lines, kind = heading_lines(words, Type(40.0, INK, bold=True, title=True), width, LEAST_TITLE)
    more = beyond_one(words, Type(40.0, INK, bold=True, title=True), width, LEAST_TITLE)
    widest, high = max(text_size(line, kind)[0] for line in lines), page.height
    head = box(34.0, high - 75.0 - more, 34.0 + widest, high - 30.0)
    page.area(head.buffer(6.0), PAPER, 0.8)
    set_heading(page, (34.0, high - 62.0), words, kind, width, LEAST_TITLE)
    return head


def write_caption(page: Page, words: str) -> None:
    """What the picture is true to, at its foot."""
    small = Type(22.0, SOFT_INK)
    for k, line in enumerate(reversed(wrap(words, small, SIZE[0] - 68.0))):
        page.area(box(28.0, 17.0 + 28.0 * k, 40.0 + text_size(line, small)[0], 45.0 + 28.0 * k), PAPER, 0.8)
        page.text(34.0, 24.0 + 28.0 * k, line, small)


def lay_lines(page: Page, seen: Overview, still: Still, *, built: bool = True) -> None:
    """Bed outline, keep-off circles and, on the mound, contours; each where it is seen."""
    site, proposal, model = seen.subject.site, seen.subject.proposal, seen.models[built]
    interval = mound_interval(proposal, site.units)
    levels = levels_between(float(proposal.elevation.min()), float(proposal.elevation.max()), interval)
    covered = footprint(proposal)
    contours = [overlap(line, covered) for line in contour_lines(proposal.grid, proposal.elevation, levels)]
    rings = [overlap(one.circle(one.keep_off).exterior, seen.block.rounded) for one in tree_circles(site)]
    for shapes, pen in (
        (contours if built else [], _CONTOUR),
        (rings, Pen(PAPER, 2.6)),  # dark red alone is lost on dark lawn
        (rings, Pen(KEEP_OFF, 1.8, (7.0, 3.0))),
        ([site.bed.outline], _OUTLINE),
    ):
        for line in on_ground(shapes, model.grid, model.elevation):
            shown = in_sight(seen.drawn(line), seen.camera, still)
            page.lines(affinity.affine_transform(shown, [1.0, 0.0, 0.0, -1.0, 0.0, SIZE[1]]), pen)


def _free_corner(still: Still) -> tuple[float, float, float, float]:
    """Left, bottom, right, top of the corner where the inset covers least: upper right if that is free."""
    wide, high = INSET * SIZE[0], INSET * SIZE[1]
    left, right = 28.0, SIZE[0] - 28.0 - wide
    corners = ((right, SIZE[1] - 28.0 - high), (right, 92.0), (left, 92.0))
    paper, upward = still.pixels[0, 0].astype(np.int16), still.pixels[::-1]

    def covered_at(across: float, up: float) -> float:
        part = upward[int(up) : int(up + high), int(across) : int(across + wide)].astype(np.int16)
        return float((np.abs(part - paper) > _DRAWN).any(axis=2).mean())

    covered = [covered_at(across, up) for across, up in corners]
    across, up = corners[0] if covered[0] < 0.02 else corners[int(np.argmin(covered))]
    return across, up, across + wide, up + high


def caption(seen: Overview) -> str:
    """What the picture is true to, and what it is not."""
    site = seen.subject.site
    heights = "True height." if seen.scale == 1.0 else f"Heights are drawn {seen.scale:g} times."
    staff = "6 ft, one foot a band" if site.units == "ft" else "2 m, a quarter metre a band"
    words = [heights, f"Staff {staff}.", *standing_words(seen.subject)]
    words += [planting_words(seen.season)] if seen.season else []
    if not box(*yard_bounds(seen.subject.ground.grid)).buffer(0.05).contains(seen.block.rounded):
        words.append("Pale ground lies outside the yard.")
    return " ".join(words)


def standing_words(subject: Subject) -> list[str]:
    """What of trees, houses and water nobody measured."""
    site = subject.site
    words = []
    if site.tree:
        crowns = "as measured" if all(tree.dripline is not None for tree in site.tree) else "usual for such trunks"
        words.append(f"Trees: trunk and flare as measured, crown {crowns}, height usual, shade of leaves left out.")
    if site.building:
        words.append("Walls of a plain height.")
    if any(bed.section.basin for bed in subject.proposal.streams):
        words.append("The stream's basin is full of stone.")
    return words


def name_things(page: Page, seen: Overview, taken: Sequence[Polygon]) -> None:
    """Names on trees and buildings, and the height over the top with its leader."""
    places = {name: at for name, at in seen.places.items() if name.partition(" ")[0] in ("top", "tree", "house")}
    spots, _ = seen.camera.project(np.array(list(places.values())))
    labels = [_name(name, spot, seen.subject) for name, spot in zip(places, spots, strict=True)]
    room = box(20.0, 60.0, SIZE[0] - 20.0, SIZE[1] - 20.0)
    for item in place(labels, room, taken):
        if item.label.tag == "top":
            across, down = spots[list(places).index("top")]
            page.lines(LineString([(item.seat.across, item.seat.up), (across, SIZE[1] - down)]), Pen(INK, 1.5))
        page.area(item.box.buffer(3.0), PAPER, 0.8)
        page.text(item.seat.across, item.seat.up, item.label.text, item.label.kind, "centre")


def _name(name: str, spot: Array, subject: Subject) -> Label:
    """The label of a thing at a place (2,) in pixels from the upper left corner; over the top, the mound's height."""
    what, _, text = name.partition(" ")
    top = what == "top"
    if top:
        text = f"{show_length(top_of_mound(subject.proposal)[2], subject.site.units)} high"
    lifts = (56.0, 84.0, 112.0) if top else (0.0, 30.0, 60.0)
    across, up = spot[0], SIZE[1] - spot[1]
    seats = tuple(Seat(across + shift, up + lift) for lift in lifts for shift in (0.0, -60.0, 60.0))
    return Label(text, seats, Type(26.0, INK, bold=top), 0 if top else 1, name)
