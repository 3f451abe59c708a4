"""Existing grade, proposed grade and the fill solid as GLB, STL and PLY.

STL and PLY: metres, Z up, survey coordinates less a stated offset. GLB: metres, Y up as glTF asks (east is
+X, up is +Y, north is -Z), the same offset. All three hold single-precision numbers; the offset keeps them
small.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from terrain.earthwork.solid import round_offset, solid_between
from terrain.earthwork.zero_line import Slab
from terrain.errors import OutputError
from terrain.grid import Array
from terrain.shape.mesh import YardMesh

if TYPE_CHECKING:
    from trimesh import Trimesh

FORMATS = ("glb", "stl", "ply")


@dataclass(frozen=True)
class MeshFiles:
    """What was written: file names in the folder, and what to add to their coordinates to be back in the survey.

    `offset` is easting, northing and elevation in metres. The three `fill` files are missing where nothing is
    placed.
    """

    names: tuple[str, ...]
    offset: tuple[float, float, float]


def write_meshes(folder: Path, mesh: YardMesh, sod: float) -> MeshFiles:
    """Write `existing`, `proposed` and `fill`, each as .glb, .stl and .ply, into a folder that is there.

    Parameters
    ----------
    folder
        Where the files go; files of the same names are replaced.
    mesh
        Existing and proposed grade of the whole yard on one triangulation.
    sod
        Depth stripped inside the bed before filling, metres; `fill` is the closed solid between stripped
        ground and proposed grade.

    Raises
    ------
    OutputError
        If a file cannot be written.
    """
    offset = round_offset(mesh, sod)
    names = []
    for name, body in _bodies(mesh, sod, offset).items():
        for kind in FORMATS:
            path = folder / f"{name}.{kind}"
            try:
                path.write_bytes(_encoded(body, name, kind))
            except OSError as error:
                raise OutputError(f"{path} cannot be written: {error.strerror or error}") from error
            names.append(path.name)
    return MeshFiles(tuple(names), offset)


def _bodies(mesh: YardMesh, sod: float, offset: tuple[float, float, float]) -> Mapping[str, Trimesh]:
    """The bodies to write by name, in single precision already: the solid is closed in the numbers of the file."""
    points = _single(mesh.points - np.array(offset[:2]))
    existing, proposed = _single(mesh.existing - offset[2]), _single(mesh.proposed - offset[2])
    stripped = _single(mesh.existing - sod - offset[2])
    bodies = {
        "existing": _body(np.column_stack([points, existing]), mesh.triangles),
        "proposed": _body(np.column_stack([points, proposed]), mesh.triangles),
    }
    solid = solid_between(Slab(points, mesh.triangles[mesh.inside], stripped, proposed))
    if len(solid.faces):
        bodies["fill"] = _body(solid.vertices, solid.faces)
    return bodies


def _single(values: Array) -> Array:
    """The values as a file in single precision will give them back."""
    return values.astype(np.float32).astype(float)


def _body(vertices: Array, faces: NDArray[np.int64]) -> Trimesh:
    import trimesh

    return trimesh.Trimesh(vertices, faces, process=False)


def _encoded(body: Trimesh, name: str, kind: str) -> bytes:
    """The bytes of one file."""
    import trimesh

    if kind != "glb":
        return _as_bytes(body.export(file_type=kind))
    upright = _body(body.vertices[:, [0, 2, 1]] * np.array([1.0, 1.0, -1.0]), body.faces)
    scene: Any = trimesh.Scene()
    scene.add_geometry(upright, node_name=name, geom_name=name)
    return _as_bytes(scene.export(file_type="glb"))


def _as_bytes(written: object) -> bytes:
    """What an exporter gives for a binary format; it may give text for others."""
    assert isinstance(written, bytes)
    return written
