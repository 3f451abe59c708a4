"""The things of a yard on the plan: a mark, a line or an outline for each, with its name."""

from __future__ import annotations

from collections.abc import Sequence

import shapely
from shapely.geometry import Point
from shapely.geometry.base import BaseGeometry

from terrain.site import Site, Thing
from terrain.units import show_length
from viewer.page import INK, NUMBER, SOFT_INK, Label, Page, Pen, Sheet, Type, cut_gaps, seats_along, seats_round

SOLID = Pen(INK, 1.1)
PENS = {
    "street": Pen(INK, 1.6),
    "buried line": Pen(INK, 0.9, (6.0, 2.0, 1.0, 2.0)),
    "overhead line": Pen(INK, 0.9, (2.0, 2.0)),
    "fence": Pen(INK, 0.9, (4.0, 1.5)),
}
MARK = 3.2  # points: radius of the mark of a thing that stands in one place


def draw_things(page: Page, sheet: Sheet, site: Site, gaps: Sequence[BaseGeometry] = ()) -> None:
    """Each thing in its place."""
    page.begin("things of the yard")
    for thing in site.thing:
        shape = _on_paper(sheet, thing)
        if not shape.is_empty:
            outline = shape.boundary if shape.geom_type == "Polygon" else shape
            page.lines(cut_gaps([outline], gaps), PENS.get(thing.kind, SOLID))


def _on_paper(sheet: Sheet, thing: Thing) -> BaseGeometry:
    """The thing on the paper; a place as a ring."""
    shape = sheet.clipped(thing.shape)
    return Point(shape.x, shape.y).buffer(MARK) if shape.geom_type == "Point" and not shape.is_empty else shape


def thing_labels(sheet: Sheet, site: Site) -> list[Label]:
    """The name of each thing, with its height where it has one."""
    labels = []
    for thing in site.thing:
        shape = _on_paper(sheet, thing)
        if shape.is_empty:
            continue
        text = thing.name
        if thing.height is not None and thing.kind in ("fence", "wall", "overhead line"):
            text = f"{thing.name}, {show_length(thing.height, site.units, 'distance')} high"
        kind = Type(NUMBER, SOFT_INK, bold=True)
        spot = shape.representative_point()
        seats = seats_round(spot.x, spot.y, text, kind, MARK + 3.0)
        parts = [part for part in shapely.get_parts(shape) if part.geom_type == "LineString"]
        if parts:
            seats = (*seats_along(max(parts, key=lambda part: part.length), text, kind)[:30], *seats)
        labels.append(Label(text, seats, kind, 1))
    return labels
