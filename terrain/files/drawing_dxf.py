"""The yard as a DXF drawing in survey coordinates and the survey's own unit: faces, contours, outlines, shots, words.

Layers carry plain names; `existing surface` and `proposed surface` hold 3D faces, `stripped surface` those of the
ground under the fill less the sod, so that between it and the proposed lies the soil that is placed. `existing
contours` and `proposed contours` are polylines at their elevation. Points are on the layer `shots` alone, so that a
drawing reads back as a survey; each building and each ground to keep clear has a layer of its own, such as `building
house`, which our reader takes for the field code that it is. The layout `sheet` shows it to a round scale.
"""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import numpy as np
from shapely.geometry import Polygon

from terrain.errors import OutputError
from terrain.extras import library
from terrain.files.drawing_paper import open_on_the_drawing
from terrain.files.drawn_system import name_system
from terrain.files.job import Job
from terrain.files.traced import contours, rings
from terrain.grid import Array
from terrain.site import Site, Thing, flare_radius, keep_off_radius, root_zone_radius
from terrain.units import show_length

# Layer and its colour by the numbers of the format: 7 is black on paper and white on a dark screen.
LAYERS = {
    "existing surface": 9,
    "stripped surface": 33,
    "proposed surface": 32,
    "existing contours": 8,
    "proposed contours": 34,
    "outline": 7,
    "breaklines": 6,
    "retained edges": 7,
    "digs": 4,
    "keep-off": 1,
    "root zones": 3,
    "trunks": 3,
    "flares": 3,
    "terraces": 34,
    "walks": 8,
    "heaps": 30,
    "things": 7,
    "shots": 7,
    "text": 7,
}
_INSUNITS = {"ft": 2, "m": 6}  # $INSUNITS: feet, metres
_SURVEY_FEET = 21  # US survey feet
_TEXT = 0.15  # metres of letter height
_MARK = 0.1  # metres: radius of the mark of a thing that stands in one place
_STANDING = 8  # colour of buildings and of ground to keep clear
_NOT_IN_NAMES = re.compile(r"[<>/\\\":;?*|=`,\x00-\x1f]")


def write_dxf(job: Job, path: Path) -> None:
    """Write the drawing (DXF R2010) and audit it.

    Raises `InputError` where the library for drawings is missing, `OutputError` where the audit finds a fault.
    """
    ezdxf: Any = library("ezdxf", path.name, "writing a drawing")
    drawing = ezdxf.new("R2010", setup=["linetypes"], units=_units(job.site))
    drawing.header["$MEASUREMENT"] = 1 if job.site.units == "m" else 0
    for name, colour in LAYERS.items():
        drawing.layers.add(name, color=colour)
    drawing.layers.get("existing contours").dxf.linetype = "DASHED"
    drawing.header.custom_vars.append("Grade", job.grade)
    drawing.layers.get("proposed surface").description = f"{job.grade} grade"
    drawing.layers.get("proposed contours").description = f"{job.grade} grade"
    space = drawing.modelspace()
    _surfaces(space, job)
    _contours(space, job)
    _lines(space, job)
    _trees(space, job)
    _shots(space, job)
    if job.site.survey.located is not None:
        name_system(drawing, job, job.site.survey.located)
    open_on_the_drawing(drawing, job)
    audit = drawing.audit()
    # What an audit mends it lists as a fix: a drawing that needed one was not written right either.
    faults = [*audit.errors, *audit.fixes]
    if faults:
        raise OutputError(f"{path.name}: the audit of the drawing found {faults[0].message}; it was not delivered.")
    drawing.saveas(path)


def _units(site: Site) -> int:
    located = site.survey.located
    return _SURVEY_FEET if located is not None and located.in_survey_feet else _INSUNITS[site.units]


def _surfaces(space: Any, job: Job) -> None:
    mesh = job.thin.mesh
    stripped = mesh.existing - job.site.bed.sod, mesh.triangles[mesh.inside]
    for layer, heights, triangles in (
        ("existing surface", mesh.existing, mesh.triangles),
        ("proposed surface", mesh.proposed, mesh.triangles),
        ("stripped surface", *stripped),
    ):
        spots = np.column_stack([mesh.points, heights]) / job.unit
        for first, second, third in spots[triangles].tolist():
            # A face of three corners repeats its last one.
            space.add_3dface([first, second, third, third], dxfattribs={"layer": layer})


def _contours(space: Any, job: Job) -> None:
    grid = job.ground.grid
    for layer, elevation in (
        ("existing contours", job.ground.elevation),
        ("proposed contours", job.proposal.elevation),
    ):
        for contour in contours(grid, elevation, job.interval):
            places = contour.places[:-1] if contour.closed else contour.places
            level = contour.elevation / job.unit
            space.add_lwpolyline(
                (places / job.unit).tolist(),
                close=contour.closed,
                dxfattribs={"layer": layer, "elevation": level},
            )


def _lines(space: Any, job: Job) -> None:
    """Outline, breaklines, edges of digs, retained edges, and what stands there."""
    site = job.site
    for ring in rings(site.bed.outline):
        _draped(space, job, ring, "outline")
    for line in site.survey.breaklines:
        space.add_polyline3d((line / job.unit).tolist(), dxfattribs={"layer": "breaklines"})
    for edge in site.retained_edge:
        _draped(space, job, np.asarray(edge.line, dtype=float), "retained edges")
    mesh = job.thin.mesh
    if mesh.dug is not None:
        from terrain.files.traced import edge_lines

        for line in edge_lines(mesh, mesh.existing, mesh.dug):
            space.add_polyline3d((line / job.unit).tolist(), dxfattribs={"layer": "digs"})
    for walk in site.walk:
        line = np.asarray(walk.line, dtype=float)
        _draped(space, job, line, "walks")
        _word(space, job, walk.name, tuple(line[0]))
    for thing in site.thing:
        _thing(space, job, thing)
    _areas(space, job)


def _thing(space: Any, job: Job, thing: Thing) -> None:
    """A thing with its name; one that stands in one place as a ring, since points are shots."""
    shape = thing.shape.buffer(_MARK) if len(thing.line) == 1 else thing.shape
    line = shape.exterior if isinstance(shape, Polygon) else shape
    _draped(space, job, np.asarray(line.coords), "things")
    _word(space, job, thing.name, thing.line[0])


def _areas(space: Any, job: Job) -> None:
    """What lies or stands there, each with its name; keep-clear areas and buildings on layers of their own."""
    site = job.site
    areas = [(named_layer("keep clear", area.name), area.name, area.outline) for area in site.keep_clear]
    areas += [(named_layer("building", house.name), house.name, house.outline) for house in site.building]
    areas += [("terraces", terrace.name, terrace.outline) for terrace in site.terrace]
    areas += [("heaps", heap.name, heap.outline) for heap in site.heap]
    for layer, name, outline in areas:
        if layer not in space.doc.layers:
            space.doc.layers.add(layer, color=_STANDING)
        for ring in rings(outline):
            _flat(space, job, ring, layer)
        _word(space, job, name, outline.representative_point().coords[0])


def named_layer(kind: str, name: str) -> str:
    """The layer of one named thing; signs that the format does not allow in names become hyphens."""
    return f"{kind} " + " ".join(_NOT_IN_NAMES.sub("-", name).split())


def _draped(space: Any, job: Job, places: Array, layer: str) -> None:
    """A line on existing grade."""
    spots = np.column_stack([places, job.ground_at(places)]) / job.unit
    space.add_polyline3d(spots.tolist(), dxfattribs={"layer": layer})


def _flat(space: Any, job: Job, ring: Array, layer: str) -> None:
    space.add_lwpolyline((ring[:-1] / job.unit).tolist(), close=True, dxfattribs={"layer": layer})


def _trees(space: Any, job: Job) -> None:
    site = job.site
    for tree in site.tree:
        up = float(job.ground_at(np.array([tree.at]))[0])
        at = tuple(value / job.unit for value in (*tree.at, up))
        radii = {
            "trunks": tree.trunk / 2,
            "flares": flare_radius(tree),
            "keep-off": keep_off_radius(tree, site.trees.rule),
            "root zones": root_zone_radius(site.trees.rule, tree.trunk, tree.dripline),
        }
        for layer, radius in radii.items():
            space.add_circle(at, radius / job.unit, dxfattribs={"layer": layer})
        _word(space, job, f"{tree.name}, trunk {show_length(tree.trunk, site.units)}", tree.at)


def _shots(space: Any, job: Job) -> None:
    survey = job.site.survey
    for shot, name in zip(survey.shots / job.unit, survey.names, strict=True):
        space.add_point(shot.tolist(), dxfattribs={"layer": "shots"})
        _word(space, job, name, tuple(shot[:2] * job.unit))


def _word(space: Any, job: Job, text: str, at: tuple[float, ...]) -> None:
    place = (at[0] / job.unit, at[1] / job.unit)
    height = _TEXT / job.unit
    space.add_text(" ".join(text.split()), height=height, dxfattribs={"layer": "text"}).set_placement(place)
