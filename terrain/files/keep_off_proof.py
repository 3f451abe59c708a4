"""The keep-offs held against the very files that go out: read back, no triangle of soil may reach into one.

`tree_findings` tells what the shaped mesh holds. Between that mesh and a file lie thinning, rounding to single
precision, turned axes and a writer; what a crew opens is the file. So each is read again and put through the same
exact sums over the disc.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from terrain.errors import OutputError
from terrain.files.bodies import Body
from terrain.files.check import read_bodies
from terrain.files.read_landxml import read_landxml
from terrain.grid import Array
from terrain.numerics import TOUCH, DepthFacets, deeper_than, disc_content
from terrain.review import TreeCheck

READ = (".glb", ".stl", ".ply", ".obj", ".xml")
PLAIN = ".xml"  # in survey coordinates as they are, nothing taken off
SOLID, FINISHED, GROUND = "fill", "proposed", "existing"
OTHERS = (GROUND, "table-model")  # files that hold no soil, or hold it to another scale
# Roundings of a coordinate in single precision that a corner may be off: half of one when it is written, as much again
# when an edge runs between two such corners.
ROUNDINGS = 2.0


@dataclass(frozen=True)
class KeepOffProof:
    """What was proved: the files read back, the trees held against them, and the tolerance.

    `tolerance` is in metres: soil that comes over a keep-off circle by less only touches it. It is the rounding of the
    files (meshes in single precision at these coordinates, surfaces in their last digit) and
    `terrain.numerics.disc.TOUCH`.
    """

    files: tuple[str, ...]
    trees: tuple[str, ...]
    tolerance: float


def prove_keep_offs(
    folder: Path, names: Sequence[str], offset: tuple[float, float, float], trees: Sequence[TreeCheck]
) -> KeepOffProof:
    """Prove on files that no soil lies inside any keep-off.

    Parameters
    ----------
    folder, names
        The files as written, of any kind. Every mesh among them is read back that holds `fill` (a closed solid of soil)
        or `proposed` (held against `existing`, of the same file or of one of the same kind beside it).
    offset
        What was taken off easting, northing and elevation in the mesh files, metres.
    trees
        The trees with their keep-offs.

    Raises
    ------
    OutputError
        Where soil reaches into a keep-off by more than the rounding of the file, where `existing` and `proposed` are
        not drawn on the same triangles, or where a file cannot be read back.
    """
    read, worst = [], 0.0
    for name in sorted(names) if trees else ():
        if Path(name).suffix not in READ or Path(name).stem in OTHERS:
            continue
        off = (0.0, 0.0, 0.0) if name.endswith(PLAIN) else offset
        for facets, tolerance in _soil(folder / name):
            for tree in trees:
                _hold(name, facets, tree, off, tolerance)
            worst = max(worst, tolerance + TOUCH)
            if name not in read:
                read.append(name)
    return KeepOffProof(tuple(read), tuple(tree.name for tree in trees), worst)


def _soil(path: Path) -> Iterator[tuple[DepthFacets, float]]:
    """The soil of each body of a file, in plan, and how far its corners may be off, metres."""
    if path.suffix == PLAIN:
        surfaces, digit = read_landxml(path)
        finished, ground = _corners(surfaces[FINISHED]), _corners(surfaces[GROUND])
        yield _raised(path.name, finished, ground, ROUNDINGS * digit), ROUNDINGS * digit
        return
    bodies = _bodies(path)
    if SOLID in bodies:
        corners = _corners(bodies[SOLID])
        yield DepthFacets(corners[..., :2], np.ones(corners.shape[:2])), _rounding(corners)
    if FINISHED in bodies:
        finished = _corners(bodies[FINISHED])
        beside = bodies.get(GROUND) or _bodies(path.with_name(f"{GROUND}{path.suffix}"))[GROUND]
        yield _raised(path.name, finished, _corners(beside), _rounding(finished)), _rounding(finished)


def _bodies(path: Path) -> Mapping[str, Body]:
    """The bodies of a file by name; the only body of a file that is named after one goes by that name."""
    try:
        found = read_bodies(path)
        alone = path.stem in (SOLID, FINISHED, GROUND) and len(found) == 1
        return {path.stem: next(iter(found.values()))} if alone else found
    except OutputError:
        raise
    except Exception as error:  # a reader meets broken bytes in any of its own ways
        raise OutputError(f"{path.name} cannot be read back ({error}); nothing was delivered.") from error


def _corners(body: Body) -> Array:
    """(m, 3, 3) corners of a body's triangles in metres, as they stand in the file."""
    return body.vertices[body.faces]


def _raised(name: str, finished: Array, ground: Array, tolerance: float) -> DepthFacets:
    """The finished ground over the existing ground, on the triangles that both share."""
    if ground.shape != finished.shape or not np.array_equal(ground[..., :2], finished[..., :2]):
        raise OutputError(
            f"{name}: {FINISHED} and {GROUND} are not drawn on the same triangles, so that the keep-offs cannot be "
            "proved on them; nothing was delivered."
        )
    return deeper_than(DepthFacets(finished[..., :2], finished[..., 2] - ground[..., 2]), tolerance)


def _rounding(corners: Array) -> float:
    """How far apart neighbouring single-precision numbers lie at the largest coordinate, times `ROUNDINGS`, metres."""
    largest = float(np.abs(corners).max(initial=1.0))
    return ROUNDINGS * float(np.spacing(np.float32(largest)))


def _hold(
    name: str, facets: DepthFacets, tree: TreeCheck, offset: tuple[float, float, float], tolerance: float
) -> None:
    """Raise where the facets reach into the keep-off, drawn in by the tolerance."""
    at, radius = (tree.at[0] - offset[0], tree.at[1] - offset[1]), tree.keep_off - tolerance
    inside = disc_content(facets, at, radius)
    if inside.area > 0.0:
        raise OutputError(
            f"{name}: soil lies on {inside.area:.3g} m2 inside the keep-off of {tree.name}; nothing was delivered. "
            "The file does not hold what was shaped: this is a fault of the program, please report it."
        )
