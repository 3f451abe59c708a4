"""The keep-offs held against the very files that go out: read back, no triangle of soil may reach into one.

`tree_findings` tells what the shaped mesh holds. Between that mesh and a file lie thinning, rounding to single
precision, turned axes and a writer; what a crew opens is the file. So each is read again and put through the same
exact sums over the disc.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from terrain.errors import OutputError
from terrain.grid import Array
from terrain.review.disc import Facets, deepest, held, over
from terrain.review.model import TreeCheck

READ = (".glb", ".stl", ".ply", ".obj")
SOLID, FINISHED, GROUND = "fill", "proposed", "existing"
# Roundings of a coordinate in single precision that a corner may be off: half of one when it is written, as much again
# when an edge runs between two such corners.
ROUNDINGS = 2.0


@dataclass(frozen=True)
class KeepOffProof:
    """What was proved: the files read back, the trees held against them, and the tolerance.

    `tolerance` is in metres: soil that comes over a keep-off circle by less, and depths of less, are the rounding of
    single precision at these coordinates.
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
        The mesh files as written. Of these, `fill` (a closed solid of soil) and `proposed` (held against `existing` of
        the same kind) are read in every format that can be.
    offset
        What was taken off easting, northing and elevation, metres.
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
        stem, kind = Path(name).stem, Path(name).suffix
        if kind not in READ or stem not in (SOLID, FINISHED):
            continue
        corners = _corners(folder / name)
        if stem == FINISHED:
            facets = _raised(folder / name, corners, folder / f"{GROUND}{kind}")
        else:
            facets = Facets(corners[..., :2], np.ones(corners.shape[:2]))
        tolerance = _rounding(corners)
        for tree in trees:
            _hold(folder / name, facets, tree, offset, tolerance)
        read.append(name)
        worst = max(worst, tolerance)
    return KeepOffProof(tuple(read), tuple(tree.name for tree in trees), worst)


def _corners(path: Path) -> Array:
    """(m, 3, 3) corners of a file's triangles in metres, Z up, as they stand in it."""
    import trimesh

    try:
        body: Any = trimesh.load(path, force="mesh", process=False)
        found: Array = np.array(body.triangles, dtype=np.float64)
    except Exception as error:  # a reader meets broken bytes in any of its own ways
        raise OutputError(f"{path.name} cannot be read back ({error}); nothing was delivered.") from error
    if path.suffix == ".glb":
        found = np.stack([found[..., 0], -found[..., 2], found[..., 1]], axis=-1)
    return found


def _raised(path: Path, finished: Array, ground_file: Path) -> Facets:
    """The finished ground over the existing ground, on the triangles that both files share."""
    ground = _corners(ground_file)
    if ground.shape != finished.shape or not np.array_equal(ground[..., :2], finished[..., :2]):
        raise OutputError(
            f"{path.name} and {ground_file.name} are not drawn on the same triangles, so that the keep-offs cannot be "
            "proved on them; nothing was delivered."
        )
    return over(Facets(finished[..., :2], finished[..., 2] - ground[..., 2]), _rounding(finished))


def _rounding(corners: Array) -> float:
    """How far apart neighbouring single-precision numbers lie at the largest coordinate, times `ROUNDINGS`, metres."""
    largest = float(np.abs(corners).max(initial=1.0))
    return ROUNDINGS * float(np.spacing(np.float32(largest)))


def _hold(path: Path, facets: Facets, tree: TreeCheck, offset: tuple[float, float, float], tolerance: float) -> None:
    """Raise where the facets reach into the keep-off, drawn in by the tolerance."""
    at, radius = (tree.at[0] - offset[0], tree.at[1] - offset[1]), tree.keep_off - tolerance
    inside = held(facets, at, radius)
    if inside.area > 0.0:
        depth, _ = deepest(facets, at, radius)
        told = f"up to {1000.0 * depth:.3g} mm deep " if path.stem == FINISHED else ""
        raise OutputError(
            f"{path.name}: soil lies {told}on {inside.area:.3g} m2 inside the keep-off of {tree.name}; nothing was "
            "delivered. The file does not hold what was shaped: this is a fault of the program, please report it."
        )
