"""The bodies of a yard as mesh files hold them: existing and proposed grade, the fill solid, the model on a table."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from terrain.grid import Array, Index
from terrain.numerics import Slab, YardMesh
from terrain.soil import round_offset, solid_between

# Depth of fill (n,) in metres, negative where dug, to red, green and blue (n, 3) of a screen, 0 to 1 each.
Tint = Callable[[Array], Array]


@dataclass(frozen=True)
class Body:
    """One body of a file.

    Parameters
    ----------
    name
        "existing", "proposed", "fill", "table-model", or a name of what stands there ("trees", "buildings", ...).
    vertices
        (n, 3) east, north and up, metres (a table model: millimetres), as single precision holds them.
    faces
        (m, 3) vertex indices, counter-clockwise seen from above or from outside.
    closed
        Whether the faces enclose a solid; a surface is open along its rim.
    colours
        (n, 3) red, green and blue of a screen, 0 to 1 each; None where it has none.
    opacity
        1.0, or less for a body that what lies under it shows through.
    unit
        What its numbers are in, as files say it: "metres" or "millimetres".
    """

    name: str
    vertices: Array
    faces: Index
    closed: bool
    colours: Array | None = None
    opacity: float = 1.0
    unit: str = "metres"

    @property
    def volume(self) -> float:
        """Volume enclosed, or between a surface and level 0: the prisms under the faces, those facing down taken off.

        In m3 (a table model: mm3).
        """
        first, second, third = (self.vertices[self.faces[:, corner]] for corner in range(3))
        p, q = second - first, third - first
        doubled = p[:, 0] * q[:, 1] - p[:, 1] * q[:, 0]
        return float(doubled @ (first[:, 2] + second[:, 2] + third[:, 2])) / 6.0


def single(values: Array) -> Array:
    """The values as a file in single precision will give them back."""
    return values.astype(np.float32).astype(float)


def ground_bodies(mesh: YardMesh, sod: float, tint: Tint | None = None) -> tuple[Body, ...]:
    """Existing and proposed grade and, where something is placed, the fill between stripped ground and proposed grade.

    Parameters
    ----------
    mesh
        Existing and proposed grade of the whole yard on one triangulation.
    sod
        Depth stripped inside the bed before filling, metres.
    tint
        Colours by depth; None leaves the bodies bare.

    Returns
    -------
    tuple
        Bodies less `round_offset(mesh, sod)`. Their numbers are those of a file in single precision already: the solid
        is closed in them.
    """
    offset = round_offset(mesh, sod)
    points = single(mesh.points - np.array(offset[:2]))
    existing, proposed = single(mesh.existing - offset[2]), single(mesh.proposed - offset[2])
    stripped = single(mesh.existing - sod - offset[2])
    triangles = mesh.triangles
    bodies = [
        _coloured(Body("existing", np.column_stack([points, existing]), triangles, False), tint, np.zeros(len(points))),
        _coloured(Body("proposed", np.column_stack([points, proposed]), triangles, False), tint, mesh.fill),
    ]
    solid = solid_between(Slab(points, triangles[mesh.inside], stripped, proposed))
    if len(solid.faces):
        body = Body("fill", single(solid.vertices), solid.faces, True)
        bodies.append(_coloured(body, tint, _depths(mesh, points, solid.vertices)))
    return tuple(bodies)


def _coloured(body: Body, tint: Tint | None, depth: Array) -> Body:
    if tint is None:
        return body
    return Body(body.name, body.vertices, body.faces, body.closed, tint(depth))


def _depths(mesh: YardMesh, points: Array, vertices: Array) -> Array:
    """Depth of fill at the vertices of the solid: that of the mesh's vertex in the same place, or of the nearest."""
    from scipy.spatial import KDTree

    _, nearest = KDTree(points).query(vertices[:, :2])
    return np.asarray(mesh.fill[nearest])


def table_model(mesh: YardMesh, scale: float, base: float) -> Body:
    """The proposed yard as one closed block to stand on a table, millimetres.

    Parameters
    ----------
    scale
        Metres of yard in one metre of model: 100.0 for 1:100.
    base
        Thickness of the plate under the lowest ground, metres of model.
    """
    points = single((mesh.points - mesh.points.min(axis=0)) * 1000.0 / scale)
    lowest = float(mesh.proposed.min())
    top = single((mesh.proposed - lowest) * 1000.0 / scale + base * 1000.0)
    solid = solid_between(Slab(points, mesh.triangles, np.zeros(len(points)), top))
    return Body("table-model", single(solid.vertices), solid.faces, True, unit="millimetres")
