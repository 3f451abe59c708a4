"""A plan as small as a stamp: geometry written as SVG text, for what a notebook shows of a value."""

from __future__ import annotations

import html
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import shapely
from shapely.geometry.base import BaseGeometry

from viewer.page import INK

_WIDE, _HIGH = 320.0, 220.0  # pixels of the picture at most
_EDGE = 6.0  # pixels around what is drawn


@dataclass(frozen=True)
class Stroke:
    """Geometry of the yard in metres, and how it is drawn: line and fill by colour ("none": without), what it is."""

    shape: BaseGeometry
    line: str = INK
    fill: str = "none"
    what: str = ""
    width: float = 1.0


def plan_svg(strokes: Sequence[Stroke], spots: Sequence[tuple[str, tuple[float, float]]] = ()) -> str:
    """An SVG of strokes in their order and named dots on top, north up, as large as the yard lets it be.

    "" where there is nothing to draw.
    """
    drawn = [one for one in strokes if not one.shape.is_empty]
    if not drawn and not spots:
        return ""
    dots = [shapely.Point(at) for _, at in spots]
    west, south, east, north = shapely.total_bounds([*(one.shape for one in drawn), *dots])
    size = min((_WIDE - 2 * _EDGE) / max(east - west, 1e-9), (_HIGH - 2 * _EDGE) / max(north - south, 1e-9))
    wide, high = size * (east - west) + 2 * _EDGE, size * (north - south) + 2 * _EDGE

    def at(x: float, y: float) -> str:
        return f"{_EDGE + size * (x - west):.1f},{_EDGE + size * (north - y):.1f}"

    parts = [_path(one, at) for one in drawn]
    parts += [_dot(name, at(*place)) for name, place in spots]
    return f'<svg width="{wide:.0f}" height="{high:.0f}" role="img" aria-label="plan, north up">{"".join(parts)}</svg>'


def _dot(name: str, place: str) -> str:
    x, y = place.split(",")
    told = f'<text x="{x}" y="{y}" dx="4" dy="4" font-size="11" fill="{INK}">{html.escape(name)}</text>' if name else ""
    return f'<circle cx="{x}" cy="{y}" r="2" fill="{INK}"/>{told}'


def _path(stroke: Stroke, at: Callable[[float, float], str]) -> str:
    ways = []
    for part in shapely.get_parts(stroke.shape):
        closed = part.geom_type == "Polygon"
        for ring in (part.exterior, *part.interiors) if closed else (part,):
            ways.append("M" + "L".join(at(x, y) for x, y, *_ in ring.coords) + ("Z" if closed else ""))
    told = f"<title>{html.escape(stroke.what)}</title>" if stroke.what else ""
    return (
        f'<path d="{"".join(ways)}" fill="{stroke.fill}" fill-rule="evenodd" stroke="{stroke.line}" '
        f'stroke-width="{stroke.width:g}">{told}</path>'
    )
