"""Existing grade, proposed grade, the fill solid and the trees as mesh files, each read back before it counts.

STL, PLY and OBJ: metres, Z up, survey coordinates less a stated offset. GLB: metres, Y up as glTF asks (east is
+X, up is +Y, north is -Z), the same offset. All hold single-precision numbers; the offset keeps them small. The table
model (STL, 3MF) is in millimetres.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from terrain.errors import OutputError
from terrain.files.bodies import Body, Tint, ground_bodies
from terrain.files.check import check_mesh_file
from terrain.files.model_glb import glb_bytes
from terrain.files.stage_grades import Grade
from terrain.numerics import YardMesh
from terrain.soil import round_offset

FORMATS = ("glb", "stl", "ply")
_STL_HEAD = 80
Offset = tuple[float, float, float]


@dataclass(frozen=True)
class MeshFiles:
    """What was written: file names in the folder, and what to add to their coordinates to be back in the survey.

    `offset` is easting, northing and elevation in metres. The three `fill` files are missing where nothing is
    placed.
    """

    names: tuple[str, ...]
    offset: Offset


def write_meshes(
    folder: Path,
    mesh: YardMesh,
    sod: float,
    kinds: Sequence[str] = FORMATS,
    tint: Tint | None = None,
    grade: Grade = "finished",
) -> MeshFiles:
    """Write `existing`, `proposed` and `fill`, each a file of every kind, into a folder that is there.

    Parameters
    ----------
    folder
        Where the files go; files of the same names are replaced.
    mesh
        Existing and proposed grade of the whole yard on one triangulation.
    sod
        Depth stripped inside the bed before filling, metres; `fill` is the closed solid between stripped
        ground and proposed grade.
    kinds
        Of "glb", "stl" and "ply".
    tint
        Colours by depth of fill, which GLB has a place for; None leaves them out.
    grade
        What the proposed grade is; every file names it.

    Raises
    ------
    OutputError
        If a file cannot be written, or does not hold what was meant when it is read back.
    """
    offset = round_offset(mesh, sod)
    names = []
    for body in ground_bodies(mesh, sod, tint):
        for kind in kinds:
            path = folder / f"{body.name}.{kind}"
            write_bodies(path, (body,), offset, grade)
            names.append(path.name)
    return MeshFiles(tuple(names), offset)


def write_bodies(
    path: Path, bodies: Sequence[Body], offset: Offset = (0.0, 0.0, 0.0), grade: Grade = "finished"
) -> None:
    """Write bodies into one file of the kind that its ending names, which names the grade, and read it back.

    STL, PLY and 3MF hold one body, GLB and OBJ any number. Raises `OutputError` like `write_meshes`.
    """
    try:
        path.write_bytes(_encoded(path.suffix[1:], bodies, offset, grade))
    except OSError as error:
        raise OutputError(f"{path} cannot be written: {error.strerror or error}") from error
    check_mesh_file(path, bodies)


def _encoded(kind: str, bodies: Sequence[Body], offset: Offset, grade: Grade) -> bytes:
    """The bytes of one file."""
    if kind == "glb":
        return glb_bytes(bodies, offset, grade)
    if kind == "obj":
        return obj_text(bodies, offset, grade).encode()
    (body,) = bodies
    if kind == "3mf":
        from terrain.files.model_3mf import bytes_3mf

        return bytes_3mf(body, grade)
    import trimesh

    written = trimesh.Trimesh(body.vertices, body.faces, process=False).export(file_type=kind)
    assert isinstance(written, bytes)
    if kind == "ply":
        words = f"\ncomment {_wording(body, offset)}\ncomment {grade} grade"
        return re.sub(rb"\ncomment [^\n]*", words.encode(), written, count=1)
    # The head of an STL is 80 bytes of free words that may not begin with "solid".
    return f"{_wording(body, offset)}; {grade}".encode()[:_STL_HEAD].ljust(_STL_HEAD) + written[_STL_HEAD:]


def _wording(body: Body, offset: Offset) -> str:
    """Unit, axes and what to add, for the formats that have a place for words."""
    east, north, up = offset
    if offset == (0.0, 0.0, 0.0):
        return f"{body.unit}, Z up"
    return f"{body.unit}, Z up; add {east:.0f} to x, {north:.0f} to y, {up:.0f} to z for the survey"


def obj_text(bodies: Sequence[Body], offset: Offset, grade: Grade) -> str:
    """Bodies as the text of an OBJ file, an object each; the offset stands in a comment at its head."""
    lines = [f"# {_wording(bodies[0], offset)}", f"# {grade} grade"]
    first = 1
    for body in bodies:
        lines.append(f"o {body.name}")
        lines += [f"v {x:.9g} {y:.9g} {z:.9g}" for x, y, z in body.vertices.tolist()]
        lines += [f"f {a} {b} {c}" for a, b, c in (body.faces + first).tolist()]
        first += len(body.vertices)
    return "\n".join(lines) + "\n"
