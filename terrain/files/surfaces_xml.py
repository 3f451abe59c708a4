"""Existing, stripped and proposed grade as LandXML 1.2 surfaces in survey coordinates and the survey's own unit.

The stripped ground lies under the fill alone: between it and the proposed grade is the soil that is placed, while the
existing grade lies higher by the sod.

Follows the open schema LandXML-1.2: points are northing, easting, elevation; faces are corner numbers; breaklines stand
with the source data. Lines that every triangle respects: breaklines, bed outline with its keep-offs, digs, retained
edges. A line of a surface lies on that surface: measured breaklines carry their own heights on existing grade, and
those of the soil over them on proposed grade.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from xml.sax.saxutils import quoteattr

import numpy as np
from numpy.typing import NDArray

from terrain.earth import Located
from terrain.errors import OutputError
from terrain.files.job import Job
from terrain.files.traced import edge_lines, on_mesh
from terrain.grid import Array

SCHEMA = "http://www.landxml.org/schema/LandXML-1.2"
_UNITS = {
    "ft": '<Imperial linearUnit="foot" areaUnit="squareFoot" volumeUnit="cubicYard" '
    'temperatureUnit="fahrenheit" pressureUnit="inHG"/>',
    "US survey ft": '<Imperial linearUnit="USSurveyFoot" areaUnit="squareFoot" volumeUnit="cubicYard" '
    'temperatureUnit="fahrenheit" pressureUnit="inHG"/>',
    "m": '<Metric linearUnit="meter" areaUnit="squareMeter" volumeUnit="cubicMeter" '
    'temperatureUnit="celsius" pressureUnit="HPA"/>',
}


def write_landxml(job: Job, path: Path) -> None:
    """Write the surfaces. Raises `OutputError` where the file cannot be written."""
    mesh = job.thin.mesh
    now = datetime.now().astimezone()
    head = (
        f'<?xml version="1.0" encoding="UTF-8"?>\n<LandXML xmlns="{SCHEMA}" '
        'xmlns:xsi="http://www.w3.org/2001/XMLSchema-instance" '
        f'xsi:schemaLocation="{SCHEMA} {SCHEMA}/LandXML-1.2.xsd" '
        f'version="1.2" date="{now:%Y-%m-%d}" time="{now:%H:%M:%S}" readOnly="false" language="English">\n'
        f"<Units>{_UNITS[_unit(job)]}</Units>\n{_system(job.site.survey.located)}"
        f"<Project name={_quoted(job.site.name)}/>\n"
        '<Application name="hummock"/>\n<Surfaces>\n'
    )
    parts = [head]
    under = mesh.triangles[mesh.inside]
    parts.append(_surface(job, "existing", "existing grade", mesh.existing, mesh.triangles))
    if job.site.bed.sod > 0.0 and len(under):
        parts.append(_surface(job, "stripped", "existing grade less the sod, under the fill", _stripped(job), under))
    parts.append(_surface(job, "proposed", f"{job.grade} grade", mesh.proposed, mesh.triangles))
    parts.append("</Surfaces>\n</LandXML>\n")
    try:
        path.write_text("".join(parts), encoding="utf-8")
    except OSError as error:
        raise OutputError(f"{path} cannot be written: {error.strerror or error}") from error


def _unit(job: Job) -> str:
    located = job.site.survey.located
    return "US survey ft" if located is not None and located.in_survey_feet else job.site.units


def _system(located: Located | None) -> str:
    """The element that names the system of the points; "" for a survey that is nowhere on earth."""
    if located is None:
        return ""
    number = f' epsgCode="{located.system[5:]}"' if located.system.startswith("EPSG:") else ""
    text = _quoted(located.well_known_text)
    return f"<CoordinateSystem name={_quoted(located.name)} desc={_quoted(located.name)}{number} ogcWktCode={text}/>\n"


def _stripped(job: Job) -> Array:
    """(n,) metres: where the fill begins."""
    return job.thin.mesh.existing - job.site.bed.sod


def _surface(job: Job, name: str, said: str, heights: Array, triangles: NDArray[np.int64]) -> str:
    """A surface over some triangles of the mesh, by heights (n,) at all its vertices; `said` tells what grade it is."""
    lines = "".join(
        f'<Breakline brkType="{line.kind}" name={_quoted(line.name)}><PntList3D>{_spots(line.spots / job.unit)}'
        "</PntList3D></Breakline>\n"
        for line in (_breaklines(job, heights) if name != "stripped" else ())
    )
    used, faces = np.unique(triangles, return_inverse=True)
    spots = np.column_stack([job.thin.mesh.points, heights])[used] / job.unit
    points = "".join(f'<P id="{number}">{_spot(spot)}</P>\n' for number, spot in enumerate(spots.tolist(), start=1))
    sides = "".join(f"<F>{a} {b} {c}</F>\n" for a, b, c in (faces.reshape(-1, 3) + 1).tolist())
    # A group may not be empty in the schema.
    source = f"<SourceData><Breaklines>\n{lines}</Breaklines></SourceData>\n" if lines else ""
    return (
        f'<Surface name="{name}" desc="{said}">\n{source}'
        f'<Definition surfType="TIN">\n<Pnts>\n{points}</Pnts>\n'
        f"<Faces>\n{sides}</Faces>\n</Definition>\n</Surface>\n"
    )


@dataclass(frozen=True)
class _XmlLine:
    """A line of a surface: its name, "standard" or "wall" by the schema, and (n, 3) points in metres."""

    name: str
    kind: str
    spots: Array


def _breaklines(job: Job, heights: Array) -> Iterator[_XmlLine]:
    """Each line that the triangles follow, on the surface of these heights (n,) at the vertices."""
    mesh, site = job.thin.mesh, job.site
    measured = heights is mesh.existing
    for number, line in enumerate(site.survey.breaklines, start=1):
        for part in [line] if measured else on_mesh(mesh, heights, line):
            yield _XmlLine(f"breakline {number}", "standard", part)
    for edge in site.retained_edge:
        for part in on_mesh(mesh, heights, np.asarray(edge.line, dtype=float)):
            yield _XmlLine(edge.name, "wall", part)
    for line in edge_lines(mesh, heights, mesh.inside):
        yield _XmlLine("edge of fill", "standard", line)
    if mesh.dug is not None:
        for line in edge_lines(mesh, heights, mesh.dug):
            yield _XmlLine("edge of dig", "standard", line)


def _quoted(name: str) -> str:
    """A name as an attribute; signs that XML 1.0 has no place for, such as a bell, become spaces."""
    return quoteattr("".join(sign if sign.isprintable() else " " for sign in name))


def _spot(spot: list[float]) -> str:
    east, north, up = spot
    return f"{north:.6f} {east:.6f} {up:.6f}"


def _spots(line: Array) -> str:
    return " ".join(_spot(spot) for spot in line.tolist())
