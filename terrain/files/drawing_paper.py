"""How a DXF drawing opens: on what is drawn, and with a sheet of paper that shows it at a round scale."""

from __future__ import annotations

from dataclasses import dataclass
from math import cos, sin
from typing import Any

from terrain.files.job import Job
from terrain.papers import PAPERS, POINT, Scale, scales, turned
from terrain.site import north_of

SHEET = "sheet"  # the name of the layout, and of the layer of what stands on it
FACES = ("existing surface", "stripped surface", "proposed surface")  # layers that the sheet leaves out
_PAPER_UNIT = {"ft": ("inch", 0.0254), "m": ("mm", 0.001)}  # as the format names them, metres
_EDGE, _FOOT, _AIR = 0.010, 0.022, 1.08  # metres of bare edge, of room for words; room about the drawing on a screen
_LETTERS = 0.004  # metres of letter height of the title; other words are three quarters as high


@dataclass(frozen=True)
class _Sheet:
    """Paper, scale, and the frame (left, bottom, width, height in metres of paper) that the yard stands in."""

    paper: str
    size: tuple[float, float]
    scale: Scale
    frame: tuple[float, float, float, float]


def open_on_the_drawing(drawing: Any, job: Job) -> None:
    """Set the extents and the first view of the model to what is drawn, and lay a sheet out: one viewport to scale."""
    from ezdxf import bbox

    space = drawing.modelspace()
    drawn = bbox.extents(space, fast=True)
    low, high, middle = drawn.extmin, drawn.extmax, drawn.center
    space.reset_extents(low, high)
    space.reset_limits((low.x, low.y), (high.x, high.y))
    # A screen is wider than high: the view is as high as the drawing, or as its width would need on a square one.
    drawing.set_modelspace_vport(height=_AIR * max(drawn.size.x, drawn.size.y), center=(middle.x, middle.y))
    _lay_out(drawing, job, (drawn.size.x * job.unit, drawn.size.y * job.unit), (middle.x, middle.y))


def _lay_out(drawing: Any, job: Job, ground: tuple[float, float], middle: tuple[float, float]) -> None:
    sheet = _sheet_for(job, ground)
    name, unit = _PAPER_UNIT[job.site.units]
    drawing.layers.add(SHEET, color=7)
    drawing.layouts.rename("Layout1", SHEET)
    layout = drawing.layouts.get(SHEET)
    wide, high = (side / unit for side in sheet.size)
    layout.page_setup(size=(wide, high), margins=(0.0, 0.0, 0.0, 0.0), units=name, scale=(1, 1))
    left, bottom, across, up = (value / unit for value in sheet.frame)
    view = layout.add_viewport(
        center=(left + across / 2, bottom + up / 2),
        size=(across, up),
        view_center_point=middle,
        view_height=sheet.frame[3] * sheet.scale.ratio / job.unit,
        dxfattribs={"layer": SHEET},
    )
    view.frozen_layers = list(FACES)  # thousands of triangles would hide the lines
    layout.reset_extents((0.0, 0.0), (wide, high))
    edge, on = _EDGE / unit, {"layer": SHEET}
    border = [(edge, edge), (wide - edge, edge), (wide - edge, high - edge), (edge, high - edge)]
    layout.add_lwpolyline(border, close=True, dxfattribs=on)
    letters = _LETTERS / unit
    words = (
        (" ".join(job.site.name.split()), letters),
        (f"Existing and proposed ground, {job.grade} grade, elevations in {job.site.units}", 0.75 * letters),
        (f"{sheet.scale.text} on {sheet.paper} paper. {north_of(job.site).said}", 0.75 * letters),
    )
    for number, (text, size) in enumerate(words):
        place = (left + edge / 4, bottom - (number + 1) * 1.6 * letters)
        layout.add_text(text, height=size, dxfattribs=on).set_placement(place)
    _north(layout, (wide - 2.0 * edge, edge + 0.5 * _FOOT / unit), 0.42 * _FOOT / unit, north_of(job.site).turn)


def _sheet_for(job: Job, ground: tuple[float, float]) -> _Sheet:
    """The larger paper of the unit, and the largest round scale at which ground (metres) stands on it."""
    paper = PAPERS[job.site.units][-1][0]
    wide, high = (side * POINT for side in turned(paper))
    frame = _EDGE, _EDGE + _FOOT, wide - 2 * _EDGE, high - 2 * _EDGE - _FOOT
    steps = scales(job.site.units)
    fits = (step for step in steps if all(g <= f * step.ratio for g, f in zip(ground, frame[2:], strict=True)))
    return _Sheet(paper, (wide, high), next(fits, steps[-1]), frame)


def _north(layout: Any, at: tuple[float, float], half: float, turn: float) -> None:
    """An arrow whose head is north, `half` its length; `turn` in radians clockwise from up."""
    way, aside = (sin(turn), cos(turn)), (cos(turn), -sin(turn))

    def spot(along: float, out: float) -> tuple[float, float]:
        return at[0] + half * (along * way[0] + out * aside[0]), at[1] + half * (along * way[1] + out * aside[1])

    outline = [spot(-1.0, 0.0), spot(1.0, 0.0), spot(0.5, 0.25), spot(0.5, -0.25), spot(1.0, 0.0)]
    layout.add_lwpolyline(outline, dxfattribs={"layer": SHEET})
    letter = layout.add_text("N", height=0.5 * half, dxfattribs={"layer": SHEET})
    letter.set_placement((at[0] - 1.1 * half, at[1] - 0.25 * half))
