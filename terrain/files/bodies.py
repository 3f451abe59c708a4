"""The bodies of a yard as mesh files hold them: existing and proposed grade, the fill solid, trees as plain solids."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from terrain.grid import Array, Index
from terrain.numerics import Slab, YardMesh
from terrain.site import Tree
from terrain.soil import round_offset, solid_between

# Depth of fill (n,) in metres, negative where dug, to red, green and blue (n, 3) of a screen, 0 to 1 each.
Tint = Callable[[Array], Array]

TRUNK_HEIGHT = 2.6  # metres shown of a trunk whose height nobody measured
_AROUND = 16
_DEEP = 0.3  # metres that a trunk goes on under the ground, so that no gap shows on a slope


@dataclass(frozen=True)
class Body:
    """One body of a file.

    Parameters
    ----------
    name
        "existing", "proposed", "fill", "trees" or "table-model".
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


def tree_body(trees: tuple[Tree, ...], feet: Array, colours: tuple[Array, Array] | None = None) -> Body | None:
    """Trunks and crowns of all trees as closed solids; None where there is no tree.

    Parameters
    ----------
    trees
        Their trunks are true to size; heights are not measured, and crowns without a dripline are drawn small so that
        the mound stays in sight.
    feet
        (k, 3) where the trunks stand, metres, in the coordinates of the file.
    colours
        Red, green and blue (3,) of trunks and of crowns.
    """
    vertices, faces, tints, count = [], [], [], 0
    for tree, foot in zip(trees, feet, strict=True):
        spread = tree.dripline or min(max(3.2 * tree.trunk, 0.9), 2.0)
        turn = np.linspace(-np.pi / 2, np.pi / 2, 9)
        middle = TRUNK_HEIGHT + 0.5 * spread
        parts = (
            (np.full(2, tree.trunk / 2), np.array([-_DEEP, TRUNK_HEIGHT])),
            (spread * np.cos(turn[1:-1]), middle + 0.6 * spread * np.sin(turn[1:-1])),
        )
        for kind, (radii, heights) in enumerate(parts):
            spots, corners = _turned_solid(radii, heights)
            vertices.append(spots + foot)
            faces.append(corners + count)
            count += len(spots)
            if colours is not None:
                tints.append(np.tile(colours[kind], (len(spots), 1)))
    if not vertices:
        return None
    tint = np.vstack(tints) if tints else None
    return Body("trees", single(np.vstack(vertices)), np.vstack(faces), True, tint)


def _turned_solid(radii: Array, heights: Array) -> tuple[Array, Index]:
    """Vertices and outward faces of a closed solid of rings about the upright axis, from below; flat at both ends."""
    turn = np.linspace(0.0, 2.0 * np.pi, _AROUND, endpoint=False)
    ring = np.column_stack([np.cos(turn), np.sin(turn)])
    rows = [np.column_stack([radius * ring, np.full(_AROUND, up)]) for radius, up in zip(radii, heights, strict=True)]
    ends = np.array([[0.0, 0.0, heights[0]], [0.0, 0.0, heights[-1]]])
    bottom, top = len(rows) * _AROUND, len(rows) * _AROUND + 1
    here = np.arange(_AROUND)
    onward = (here + 1) % _AROUND
    faces = [np.column_stack([np.full(_AROUND, bottom), onward, here])]
    for row in range(len(rows) - 1):
        low, high = row * _AROUND, (row + 1) * _AROUND
        faces.append(np.column_stack([low + here, low + onward, high + onward]))
        faces.append(np.column_stack([low + here, high + onward, high + here]))
    last = (len(rows) - 1) * _AROUND
    faces.append(np.column_stack([np.full(_AROUND, top), last + here, last + onward]))
    return np.vstack([*rows, ends]), np.vstack(faces).astype(np.int64)


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
