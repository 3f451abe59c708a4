"""Scans by their ending: points as they stream by, and what the format itself says of its unit and of up."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path
from typing import Any

import numpy as np

from terrain.errors import InputError
from terrain.grid import Array, Index
from terrain.survey.measured import ReadOptions
from terrain.survey.readers.cloud import plane_cloud
from terrain.survey.readers.cut import whole_points
from terrain.survey.readers.ply import ply_head, ply_points
from terrain.survey.readers.xyz import xyz_points

_LARGEST_MESH = 300 * 2**20  # bytes: a mesh is held whole
_MOST_SAMPLES, _LEAST_SAMPLES = 500_000, 20_000  # points over all faces of a part
_SEED = 1


@dataclass(frozen=True)
class ScanFile:
    """A scan that can be gone through.

    Parameters
    ----------
    pour
        Takes a spacing in the file's unit and goes through the points, (n, 4) at a time: x, y, z, and 1 where the file
        itself calls the point ground. Faces wider than the spacing are strewn with points.
    unit
        Metres in the file's unit; None where neither file nor format says.
    up
        The axis that its format has upward, "y" or "z"; "" where it says nothing.
    narrow
        Whether places are stored in 32 bits.
    """

    pour: Callable[[float], Iterator[Array]]
    unit: float | None = None
    up: str = ""
    narrow: bool = False


def scan_file(path: Path, label: str, asked: ReadOptions) -> ScanFile:
    """Open a scan.

    Raises
    ------
    InputError
        For an ending that no reader takes, and from the readers.
    """
    ending = path.suffix.lower()
    if ending not in _READERS:
        raise InputError(label, f'a scan that ends in "{ending}" is not read.', f"Accepted: {', '.join(_READERS)}.")
    return _READERS[ending](path, label, asked)


def _ply(path: Path, label: str, asked: ReadOptions) -> ScanFile:
    head = ply_head(path, label)
    if head.faces:
        return _mesh(path, label, asked)
    return ScanFile(lambda spacing: map(_unmarked, ply_points(path, head, label)), narrow=head.narrow)


def _xyz(path: Path, label: str, asked: ReadOptions) -> ScanFile:
    return ScanFile(lambda spacing: map(_unmarked, xyz_points(path, label)))


def _mesh(path: Path, label: str, asked: ReadOptions) -> ScanFile:
    """A surface: its corners, and points strewn over its larger faces."""
    import trimesh

    if path.stat().st_size > _LARGEST_MESH:
        raise InputError(label, "a surface of so many bytes is not read.", "Write it as points, such as PLY or LAS.")
    kind = path.suffix.lower()[1:]
    # From memory and without what resolves names: a file that names others (textures, buffers) is given none.
    loaded: Any = trimesh.load(
        BytesIO(path.read_bytes()), file_type=kind, process=False, skip_materials=True, maintain_order=True
    )
    parts = [_placed(part) for part in (loaded.dump() if isinstance(loaded, trimesh.Scene) else [loaded])]
    if not sum(len(corners) for corners, _ in parts):
        raise InputError(label, "it holds no points.", "Accepted: a scan of the yard.")
    return ScanFile(
        lambda spacing: (_unmarked(points) for corners, faces in parts for points in _strewn(corners, faces, spacing)),
        unit=1.0 if kind == "glb" else None,  # glTF 2.0, 3.4: metres, y up
        up="y" if kind == "glb" else "",
        narrow=kind != "obj",
    )


def _placed(part: Any) -> tuple[Array, Index]:
    """Corners (n, 3) and faces (m, 3) of a part of a scene; none of anything else than a surface or points."""
    corners = np.asarray(getattr(part, "vertices", np.empty((0, 3))), dtype=float).reshape(-1, 3)
    faces = np.asarray(getattr(part, "faces", np.empty((0, 3))), dtype=np.intp).reshape(-1, 3)
    return corners, faces


def _strewn(corners: Array, faces: Index, spacing: float) -> Iterator[Array]:
    """The corners, and points at random over each face, one to a square of the spacing."""
    yield corners
    a, b, c = (corners[faces[:, k]] for k in range(3))
    area = np.linalg.norm(np.cross(b - a, c - a), axis=1) / 2.0
    if not area.sum() > 0.0:
        return
    least, most = (float(np.sqrt(area.sum() / count)) for count in (_MOST_SAMPLES, _LEAST_SAMPLES))
    spacing = max(min(spacing, most), least)
    chance = np.random.default_rng(_SEED)
    which = np.repeat(np.arange(len(faces)), np.floor(area / spacing**2).astype(np.intp))
    u, v = chance.uniform(size=(2, len(which)))
    u, v = np.where(u + v > 1.0, 1.0 - u, u), np.where(u + v > 1.0, 1.0 - v, v)
    yield a[which] + u[:, None] * (b - a)[which] + v[:, None] * (c - a)[which]


def _las(path: Path, label: str, asked: ReadOptions) -> ScanFile:
    """A point cloud; points that it withholds are not read."""
    laspy, units = plane_cloud(path, label)

    def pour(spacing: float) -> Iterator[Array]:
        with laspy.open(path) as reader:
            for chunk in whole_points(reader, label):
                kept = ~np.asarray(chunk.withheld, dtype=bool)
                ground = np.isin(np.asarray(chunk.classification), asked.classes)
                yield np.column_stack([*(np.asarray(chunk[axis]) for axis in "xyz"), ground])[kept]

    return ScanFile(pour, unit=units.plane, up="z")


def _unmarked(points: Array) -> Array:
    """Points of which the file does not say what they are."""
    return np.column_stack([points, np.zeros(len(points))])


_READERS: dict[str, Callable[[Path, str, ReadOptions], ScanFile]] = {
    ".ply": _ply,
    ".obj": _mesh,
    ".glb": _mesh,
    ".xyz": _xyz,
    ".pts": _xyz,
    ".txt": _xyz,
    ".csv": _xyz,
    ".las": _las,
    ".laz": _las,
}
