"""A mesh file read back right after it was written: what it holds must be what was meant."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np

from terrain.errors import OutputError
from terrain.files.bodies import Body
from terrain.grid import Array

VOLUME_SHARE = 1e-3  # of the volume; a file that is further off is not delivered


def check_mesh_file(path: Path, meant: Sequence[Body]) -> None:
    """Read a mesh file and hold it against the bodies that were written into it.

    Raises
    ------
    OutputError
        If a body is missing, a face has no area, a solid is not closed or turned inside out, or a volume is off by more
        than `VOLUME_SHARE`.
    """
    found = read_bodies(path)
    for body in meant:
        if body.name not in found:
            raise _failed(path, f"{body.name} is missing")
        for fault in faults(found[body.name], body):
            raise _failed(path, f"{body.name} {fault}")


def _failed(path: Path, problem: str) -> OutputError:
    return OutputError(f"{path.name}: the file was read back and {problem}; it was not delivered.")


def faults(found: Body, meant: Body) -> Iterator[str]:
    """What is wrong with a body that was read back."""
    import trimesh

    if len(found.faces) != len(meant.faces):
        yield f"has {len(found.faces)} faces in place of {len(meant.faces)}"
    areas = face_areas(found)
    if not (areas > 0.0).all():
        yield f"has {int((~(areas > 0.0)).sum())} faces without area"
    off = abs(found.volume - meant.volume)
    if off > VOLUME_SHARE * abs(meant.volume):
        yield f"holds {found.volume:.4f} in place of {meant.volume:.4f}"
    if meant.closed:
        solid = trimesh.Trimesh(found.vertices, found.faces, process=False)
        solid.merge_vertices()
        if not solid.is_watertight or not solid.is_winding_consistent or found.volume <= 0.0:
            yield "is not closed"


def face_areas(body: Body) -> Array:
    """(m,) area of each face."""
    first, second, third = (body.vertices[body.faces[:, corner]] for corner in range(3))
    return np.asarray(np.linalg.norm(np.cross(second - first, third - first), axis=1) / 2.0)


def read_bodies(path: Path) -> Mapping[str, Body]:
    """The bodies of a GLB, STL, PLY, OBJ or 3MF file by name, east, north and up; a file without names gives its stem.

    Raises
    ------
    OutputError
        If it cannot be read.
    """
    kind = path.suffix[1:]
    try:
        if kind == "3mf":
            from terrain.files.model_3mf import read_3mf

            return read_3mf(path)
        loaded = _loaded(path, kind)
    except (OSError, ValueError, KeyError) as error:
        raise _failed(path, f"could not be understood ({error})") from error
    bodies = {}
    for name, mesh in loaded.items():
        vertices = np.asarray(mesh.vertices, dtype=float)
        if kind == "glb":
            vertices = np.column_stack([vertices[:, 0], -vertices[:, 2], vertices[:, 1]])
        bodies[name] = Body(name, vertices, np.asarray(mesh.faces, dtype=np.int64), False)
    return bodies


def _loaded(path: Path, kind: str) -> Mapping[str, Any]:
    import trimesh

    if kind == "glb":
        scene: Any = trimesh.load(path, process=False)
        return {str(name): mesh for name, mesh in scene.geometry.items()}
    if kind == "obj":
        parts: Any = trimesh.load(path, process=False, split_objects=True)
        return dict(parts.geometry.items())
    return {path.stem: trimesh.load(path, force="mesh", process=False)}
