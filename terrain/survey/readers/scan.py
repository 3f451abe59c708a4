"""A scan of a yard: its ground, thinned, what the ground is at control shots, its trunks, and what was taken for what.

The answer is one line of JSON and behind it rows of numbers, (m, 4): first the ground by cells (easting, northing,
median height, spread), then the controls (easting, northing, height, its deviation; nan where there is no ground), then
what was seen by cells (easting, northing, size of a cell, share of it that is ground).
"""

from __future__ import annotations

import json
import math
from pathlib import Path

import numpy as np

from terrain.errors import InputError
from terrain.grid import Array, Index, Mask
from terrain.numerics import ground_points
from terrain.survey.measured import ReadOptions, ScanWay
from terrain.survey.readers.dense import in_window
from terrain.survey.readers.scan_axes import found_way
from terrain.survey.readers.scan_files import ScanFile, scan_file
from terrain.survey.readers.standing import standing_trunks
from terrain.survey.readers.voxels import Voxels

_SAMPLE = 100_000  # points by which unit and axis are found
_SPACING = 0.05  # metres between points strewn over large faces
_CELL = 0.25  # metres: the least cell of the ground, as the ground filter's
# A cell is hidden with fewer than so many points of the middle one, or with more than so many times its spread.
_HIDDEN, _ROUGH = 0.25, 2.0
_CELL_NOISE = 0.005  # metres
_STIFF = 1e-4  # m2 that hold the plane of a cell with few points level
_SEEN_CELL = 0.10
_MOST_SEEN = 40_000  # cells of the picture
_MARKED = 0.02  # of all points: a file with fewer that it calls ground does not say where the ground is
_FEWEST = 200  # points of a ground
_COARSE_STEP, _TOLD_STEP = 0.05, 0.001  # metres between numbers of 32 bits
_AROUND, _FEWEST_AROUND = 0.35, 8  # of a control: metres, points


def read(path: Path, label: str, asked: ReadOptions) -> bytes:
    """Read a scan; raises `InputError` where it cannot be laid, or holds no ground within the window."""
    way = asked.scan or ScanWay()
    file = scan_file(path, label, asked)
    matrix, notes = _matrix(file, way, label)
    notes += _steps(file, matrix, label)
    voxels = Voxels()
    for rows in file.pour(_SPACING / _stretch(matrix)):
        placed = np.column_stack([rows[:, :3] @ matrix[:, :3].T + matrix[:, 3], rows[:, 3]])
        voxels.add(in_window(placed, asked))
    rows, counts = voxels.means()
    if len(rows) < _FEWEST:
        where = " within the stated distance of the bed" if asked.window is not None else ""
        raise InputError(label, f"it holds {voxels.count:,} points{where}.", "Accepted: a scan of the yard.")
    points, marked = rows[:, :3], rows[:, 3] > 0.5
    by_file = float(marked.mean()) >= _MARKED
    ground = marked if by_file else ground_points(points)
    if np.count_nonzero(ground) < _FEWEST:
        raise InputError(label, "no ground was found in it.", "Accepted: a scan that sees the ground about the bed.")
    cells, side = _cells(points[ground], asked.most)
    seen = _seen(points, ground)
    told = {
        "points": voxels.count,
        "strayed": voxels.strayed,
        "voxel": voxels.side,
        "ground_share": float(counts[ground].sum() / counts.sum()),
        "by_file": by_file,
        "cell": side,
        "rows": [len(cells), len(way.controls), len(seen)],
        "notes": notes,
        "trunks": standing_trunks(points, cells[:, :3], way.breast),
    }
    controls = np.array([_height_at(points[ground], place) for place in way.controls]).reshape(-1, 4)
    body = np.vstack([cells, controls, seen]).astype("<f8")
    return json.dumps(told).encode("ascii") + b"\n" + body.tobytes()


def _matrix(file: ScanFile, way: ScanWay, label: str) -> tuple[Array, list[str]]:
    """What takes (x, y, z, 1) of the file to the site, (3, 4), and what was found."""
    if way.laid:
        return np.array(way.laid).reshape(3, 4), []
    sample = _sampled(file)
    if len(sample) < _FEWEST:
        raise InputError(label, f"it holds {len(sample):,} points.", "Accepted: a scan of the yard.")
    found = found_way(sample, way, file.unit, file.up, label)
    return np.column_stack([found.unit * found.turn, np.zeros(3)]), list(found.notes)


def _sampled(file: ScanFile) -> Array:
    """Some of the points, from all over the file."""
    kept: list[Array] = []
    every, place = 1, 0
    for rows in file.pour(math.inf):
        rows = rows[np.isfinite(rows).all(axis=1), :3]
        kept.append(rows[-place % every :: every])
        place += len(rows)
        if sum(map(len, kept)) > 2 * _SAMPLE:
            kept, every = [np.vstack(kept)[::2]], 2 * every
    return np.vstack(kept) if kept else np.empty((0, 3))


def _stretch(matrix: Array) -> float:
    return float(np.cbrt(abs(np.linalg.det(matrix[:, :3]))))


def _steps(file: ScanFile, matrix: Array, label: str) -> list[str]:
    """How coarse numbers of 32 bits are, so far from zero."""
    if not file.narrow:
        return []
    rows = next(iter(file.pour(math.inf)), np.zeros((0, 4)))[:, :3]
    largest = float(np.abs(rows[np.isfinite(rows).all(axis=1)]).max(initial=0.0))
    step = float(np.spacing(np.float32(largest))) * _stretch(matrix)
    if step > _COARSE_STEP:
        problem = f"its numbers of 32 bits stand so far from zero that they go in steps of {step:.2g} m."
        raise InputError(label, problem, "Write it about an origin in the yard, or in 64 bits.")
    note = f"{label}: its numbers of 32 bits stand far from zero and go in steps of {step * 1000:.0f} mm."
    return [note] if step >= _TOLD_STEP else []


def _cells(ground: Array, most: int) -> tuple[Array, float]:
    """(m, 4) of square cells: mean place, middle height, and the spread about a plane; and how large they had to be.

    Cells that plants hide are left out, for what the filter leaves in them lies too high: those with few points, and
    those whose points stand out of a plane much farther than elsewhere.
    """
    side = _CELL
    corner = ground[:, :2].min(axis=0)
    while True:
        columns, rows = np.floor((ground[:, :2] - corner) / side).astype(np.int64).T
        _, into, counts = np.unique(rows * (columns.max() + 1) + columns, return_inverse=True, return_counts=True)
        if len(counts) <= most:
            break
        side *= 1.1
    into = _flat(into)
    means = np.column_stack([np.bincount(into, column) / counts for column in ground.T])
    rest = _off_planes(ground - means[into], into, len(counts))
    order = np.lexsort((rest, into))
    starts = np.cumsum(counts) - counts
    middle = (rest[order[starts + (counts - 1) // 2]] + rest[order[starts + counts // 2]]) / 2.0
    spread = np.sqrt(np.bincount(into, (rest - middle[into]) ** 2) / counts)
    open_ = (counts >= _HIDDEN * np.median(counts)) & (spread <= _ROUGH * np.median(spread) + _CELL_NOISE)
    return np.column_stack([means[:, :2], means[:, 2] + middle, spread])[open_], side


def _off_planes(off: Array, into: Index, count: int) -> Array:
    """(n,) how far points stand off the plane of their cell; `off` (n, 3) is from the cell's mean."""
    x, y, z = off.T
    sums = {name: np.bincount(into, a * b, count) for name, a, b in (("xx", x, x), ("xy", x, y), ("yy", y, y))}
    xx, yy, xy = sums["xx"] + _STIFF, sums["yy"] + _STIFF, sums["xy"]
    xz, yz = np.bincount(into, x * z, count), np.bincount(into, y * z, count)
    under = xx * yy - xy * xy
    east, north = (yy * xz - xy * yz) / under, (xx * yz - xy * xz) / under
    rest: Array = z - east[into] * x - north[into] * y
    return rest


def _height_at(ground: Array, place: tuple[float, float]) -> list[float]:
    """The height of the ground about a place, along a plane, and its deviation; nan where too little is seen there.

    The middle height, as that of a cell is: blades of grass stand on one side only, and pull a mean up by more.
    """
    off = ground[:, :2] - place
    near = np.flatnonzero(np.hypot(*off.T) <= _AROUND)
    if len(near) < _FEWEST_AROUND or not _surrounded(off[near]):
        return [*place, math.nan, math.nan]
    terms, heights = np.column_stack([np.ones(len(near)), off[near]]), ground[near, 2]
    weights = np.ones(len(near))
    for _ in range(3):  # what the filter left of a plant pulls the less the higher it stands
        plane = np.linalg.lstsq(terms * weights[:, None], heights * weights, rcond=None)[0]
        rest = heights - terms @ plane
        scale = 1.4826 * float(np.median(np.abs(rest))) + 1e-6
        weights = 1.0 / np.sqrt(1.0 + (rest / (2.0 * scale)) ** 2)
    return [*place, float(plane[0] + np.median(rest)), scale / math.sqrt(len(near))]


def _surrounded(off: Array) -> bool:
    """Whether places lie on three sides at least of the middle."""
    return len(np.unique(np.floor(np.arctan2(off[:, 1], off[:, 0]) / (math.pi / 2.0)))) >= 3


def _seen(points: Array, ground: Mask) -> Array:
    """(m, 4) of cells with points: middle, size, and the share that is ground."""
    side = _SEEN_CELL
    while True:
        across = np.floor(points[:, :2] / side).astype(np.int64)
        kinds, into, counts = np.unique(across, axis=0, return_inverse=True, return_counts=True)
        if len(kinds) <= _MOST_SEEN:
            break
        side *= 1.25
    share = np.bincount(_flat(into), ground.astype(float)) / counts
    return np.column_stack([(kinds + 0.5) * side, np.full(len(kinds), side), share])


def _flat(into: Index) -> Index:
    """As one row, whatever the version of numpy."""
    return into.reshape(-1)
