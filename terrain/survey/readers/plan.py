"""Everything that a DXF plan draws, as plain values: lines, circles, symbols with their attributes, labels, faces.

Nothing is judged here: what a layer stands for is settled by `terrain.survey.plan.layers` in the process that asked.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from terrain.errors import InputError
from terrain.extras import library
from terrain.limits import PLAN_CORNERS_MOST, PLAN_PARTS_MOST
from terrain.survey.measured import ReadOptions
from terrain.survey.readers.drawing import CURVES, DRAWN_UNITS, vertices_of

Plain = dict[str, Any]
_USUAL_UNIT = 0.3048  # metres: how finely curves are followed where the drawing names no unit
_LONGEST_TEXT = 500  # signs of a label or an attribute
_ATTRIBUTES_MOST = 60  # of one symbol
_DEEPEST = 4  # drawings inside drawings that are opened


def read(path: Path, label: str, asked: ReadOptions) -> Plain:
    """Read a plan.

    Returns
    -------
    dict
        `unit` in metres (None where the drawing names none), and lists under `lines`, `circles`, `symbols`, `labels`,
        `points` and `faces`, coordinates in drawing units; `unread` counts what else is drawn, by kind.

    Raises
    ------
    InputError
        For a file that is no DXF, and one of more parts or corners than a plan of a yard has.
    """
    del asked  # a plan is read whole
    ezdxf: Any = library("ezdxf", label, "reading a drawing")
    drawing = _opened(ezdxf, path)
    unit = DRAWN_UNITS.get(drawing.header.get("$INSUNITS", 0))
    pile = _Pile(label, unit or _USUAL_UNIT)
    for entity in drawing.modelspace():
        pile.lay(entity)
    return {"unit": unit, **pile.parts, "unread": dict(pile.unread)}


def _opened(ezdxf: Any, path: Path) -> Any:
    """The drawing; one whose structure is damaged, as some programs write it, is mended as far as it can be."""
    try:
        return ezdxf.readfile(path)
    except ezdxf.DXFStructureError:
        from ezdxf import recover

        return recover.readfile(path)[0]


class _Pile:
    """What was read so far, within its bounds."""

    def __init__(self, label: str, unit: float) -> None:
        self.label, self.unit = label, unit
        self.parts: dict[str, list[Any]] = {
            kind: [] for kind in ("lines", "circles", "symbols", "labels", "points", "faces")
        }
        self.unread: Counter[str] = Counter()
        self.corners, self.count, self.depth = 0, 0, 0
        self.sheets: dict[str, bool] = {}
        self._ways: Mapping[str, Callable[[Any, str], None]] = {
            "POINT": self._point,
            "INSERT": self._symbol,
            "TEXT": self._text,
            "MTEXT": self._text,
            "3DFACE": self._face,
            "CIRCLE": self._circle,
            **dict.fromkeys((kind for kind in CURVES if kind != "CIRCLE"), self._line),
        }

    def lay(self, entity: Any) -> None:
        """Read one part of the drawing; what is of no use here is counted."""
        self.count += 1
        if self.count > PLAN_PARTS_MOST.value:
            problem = f"it draws more than {PLAN_PARTS_MOST.value:,.0f} parts."
            raise InputError(self.label, problem, "Keep what lies about the bed.")
        kind, layer = entity.dxftype(), str(entity.dxf.get("layer", "0"))
        way = self._ways.get(kind)
        if way is None:
            self.unread[kind] += 1
            return
        way(entity, layer)

    def _line(self, entity: Any, layer: str) -> None:
        if entity.dxftype() == "POLYLINE" and not (entity.is_2d_polyline or entity.is_3d_polyline):
            self._mesh(entity, layer)
            return
        try:
            points = vertices_of(entity, self.unit, self.label).tolist()
        except InputError:  # one line that is nowhere spoils no plan
            self.unread[f"{entity.dxftype()} that cannot be followed"] += 1
            return
        closed = bool(getattr(entity, "is_closed", False) or getattr(entity, "closed", False))
        self._counted(len(points))
        self.parts["lines"].append([layer, closed, points])

    def _mesh(self, entity: Any, layer: str) -> None:
        """A polyline that is a mesh of faces."""
        for part in entity.virtual_entities():
            if part.dxftype() == "3DFACE":
                self._face(part, layer)

    def _circle(self, entity: Any, layer: str) -> None:
        at, radius = entity.ocs().to_wcs(entity.dxf.center), float(entity.dxf.radius)
        if _finite(at.x, at.y, at.z, radius) and radius > 0.0:
            self.parts["circles"].append([layer, [at.x, at.y, at.z], radius])

    def _point(self, entity: Any, layer: str) -> None:
        at = entity.dxf.location
        if _finite(at.x, at.y, at.z):
            self.parts["points"].append([layer, [at.x, at.y, at.z]])

    def _symbol(self, entity: Any, layer: str) -> None:
        if not entity.attribs and self.depth < _DEEPEST and self._is_sheet(entity):
            self.depth += 1
            for part in entity.virtual_entities():
                self.lay(part)
            self.depth -= 1
            return
        at = entity.ocs().to_wcs(entity.dxf.insert)
        written = {
            str(attribute.dxf.tag): str(attribute.dxf.text).strip()[:_LONGEST_TEXT]
            for attribute in entity.attribs[:_ATTRIBUTES_MOST]
        }
        size = max(abs(float(entity.dxf.get("xscale", 1.0))), abs(float(entity.dxf.get("yscale", 1.0))))
        if _finite(at.x, at.y, at.z, size):
            self.parts["symbols"].append([layer, str(entity.dxf.name), [at.x, at.y, at.z], size, written])

    def _is_sheet(self, entity: Any) -> bool:
        """Whether a block is no symbol but a drawing put into this one: it has layers of its own, as sheets do."""
        name = str(entity.dxf.name)
        if name not in self.sheets:
            parts = entity.block() or ()
            own = {str(part.dxf.get("layer", "0")) for part in parts if part.dxftype() in self._ways} - {"0"}
            self.sheets[name] = len(own) > 1
        return self.sheets[name]

    def _text(self, entity: Any, layer: str) -> None:
        if entity.dxftype() == "MTEXT":
            at, text, height = entity.dxf.insert, entity.plain_text(), entity.dxf.get("char_height", 0.0)
        else:
            at, text, height = entity.ocs().to_wcs(entity.get_placement()[1]), entity.plain_text(), entity.dxf.height
        text = " ".join(str(text).split())[:_LONGEST_TEXT]
        if text and _finite(at.x, at.y, at.z, float(height)):
            self.parts["labels"].append([layer, text, [at.x, at.y, at.z], abs(float(height))])

    def _face(self, entity: Any, layer: str) -> None:
        """The triangles of a face of three or four corners."""
        corners = [[at.x, at.y, at.z] for at in entity.wcs_vertices()]
        if not all(_finite(*corner) for corner in corners) or len(corners) < 3:
            return
        self._counted(len(corners))
        self.parts["faces"].append([layer, corners[:3]])
        if len(corners) == 4 and corners[3] != corners[2]:
            self.parts["faces"].append([layer, [corners[0], corners[2], corners[3]]])

    def _counted(self, corners: int) -> None:
        self.corners += corners
        if self.corners > PLAN_CORNERS_MOST.value:
            problem = f"its lines and faces have more than {PLAN_CORNERS_MOST.value:,.0f} corners."
            raise InputError(self.label, problem, "Keep what lies about the bed, or draw the lines with fewer corners.")


def _finite(*figures: float) -> bool:
    return all(math.isfinite(figure) and abs(figure) < 1e12 for figure in figures)
