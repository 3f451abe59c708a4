"""Points of a PLY file as they stream by: text or binary, of either byte order, whatever else each point carries.

The header names elements in the order in which they are stored, each with its count and its properties (Turk, The PLY
Polygon File Format, 1994). Points are the element "vertex"; lists and other elements before it are refused.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from terrain.errors import InputError
from terrain.grid import Array

_TYPES = {
    **{"char": "i1", "uchar": "u1", "short": "i2", "ushort": "u2", "int": "i4", "uint": "u4"},
    **{"int8": "i1", "uint8": "u1", "int16": "i2", "uint16": "u2", "int32": "i4", "uint32": "u4"},
    **{"float": "f4", "double": "f8", "float32": "f4", "float64": "f8"},
}
_ORDERS = {"binary_little_endian": "<", "binary_big_endian": ">", "ascii": ""}
_LONGEST_HEADER = 65_536  # bytes
_CHUNK = 100_000  # points
_AXES = ("x", "y", "z")


@dataclass(frozen=True)
class PlyHead:
    """What the header says: byte order ("" for text), points, their properties by name, faces, and where data start."""

    order: str
    count: int
    types: dict[str, str] = field(default_factory=dict)
    faces: int = 0
    start: int = 0

    @property
    def narrow(self) -> bool:
        """Whether places are stored in 32 bits."""
        return any(self.types[axis] == "f4" for axis in _AXES)


def ply_head(path: Path, label: str) -> PlyHead:
    """The header of a file.

    Raises
    ------
    InputError
        For a file that is no PLY, or whose points have no x, y and z that can be found.
    """
    with path.open("rb") as stream:
        data = stream.read(_LONGEST_HEADER)
    end = data.find(b"end_header")
    if not data.startswith(b"ply") or end < 0:
        raise InputError(label, "this is not a PLY file, whatever its name says.", "Accepted: PLY, text or binary.")
    start = data.index(b"\n", end) + 1 if b"\n" in data[end:] else len(data)
    lines = [line.split() for line in data[:end].decode("ascii", "replace").splitlines()]
    order = next((_ORDERS.get(line[1]) for line in lines if len(line) > 1 and line[0] == "format"), None)
    if order is None:
        raise _unread(label, "its header names no format that is known")
    try:
        return _understood(lines, order, start, label)
    except (ValueError, IndexError):
        raise _unread(label, "its header is damaged") from None


def _understood(lines: list[list[str]], order: str, start: int, label: str) -> PlyHead:
    counts: dict[str, int] = {}
    types: dict[str, str] = {}
    for line in lines:
        if line[:1] == ["element"]:
            counts[line[1]] = int(line[2])
        elif line[:1] == ["property"] and list(counts)[-1:] == ["vertex"]:
            if line[1] not in _TYPES:
                raise _unread(label, f'a point has the property "{" ".join(line[1:3])}"')
            types[line[2]] = _TYPES[line[1]]
    if next(iter(counts), "") != "vertex" or not set(_AXES) <= set(types):
        raise _unread(label, "its points do not come first, with x, y and z")
    return PlyHead(order, counts["vertex"], types, counts.get("face", 0), start)


def _unread(label: str, problem: str) -> InputError:
    return InputError(label, f"{problem}.", "Accepted: PLY whose first element is vertex, with x, y and z.")


def ply_points(path: Path, head: PlyHead, label: str) -> Iterator[Array]:
    """The points, (n, 3) at a time.

    Raises
    ------
    InputError
        Where the file ends before the last of them.
    """
    made = _text_points(path, head) if not head.order else _binary_points(path, head)
    found = 0
    for points in made:
        found += len(points)
        yield points
    if found < head.count:
        raise InputError(
            label, f"its header promises {head.count:,} points and it holds {found:,}: it is cut.", "Fetch it again."
        )


def _binary_points(path: Path, head: PlyHead) -> Iterator[Array]:
    kind = np.dtype([(name, head.order + code) for name, code in head.types.items()])
    with path.open("rb") as stream:
        stream.seek(head.start)
        left = head.count
        while left > 0:
            data = stream.read(min(left, _CHUNK) * kind.itemsize)
            rows = np.frombuffer(data[: len(data) // kind.itemsize * kind.itemsize], dtype=kind)
            if not len(rows):
                return
            yield np.column_stack([rows[axis].astype(float) for axis in _AXES])
            left -= len(rows)


def _text_points(path: Path, head: PlyHead) -> Iterator[Array]:
    columns = [list(head.types).index(axis) for axis in _AXES]
    with path.open("rb") as stream:
        stream.seek(head.start)
        left = head.count
        while left > 0:
            lines = [stream.readline() for _ in range(min(left, _CHUNK))]
            there = [line for line in lines if line.strip()]
            if not there:
                return
            yield np.loadtxt(there, usecols=columns, ndmin=2)
            left -= len(lines)
