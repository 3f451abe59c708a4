"""Points of a text file of x, y, z as they stream by: blanks, tabs, commas or semicolons between them, decimal commas.

Lines that start with a letter or a sign of remarks, and a first line that is a count alone, stand above the points;
what stands behind z (strength, colour) is not read.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from itertools import islice
from pathlib import Path

import numpy as np

from terrain.errors import InputError
from terrain.grid import Array

_CHUNK = 100_000  # lines
_LONGEST_LINE = 4096  # bytes
_ABOVE = 50  # lines that may stand above the points
_NUMBER = re.compile(rb"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?")
_ACCEPTED = "Accepted: three numbers a line, x y z, with blanks, tabs, commas or semicolons between them."


def xyz_points(path: Path, label: str) -> Iterator[Array]:
    """The points, (n, 3) at a time.

    Raises
    ------
    InputError
        For a file without such lines, and at the row that is none.
    """
    with path.open("rb") as stream:
        head = [stream.readline(_LONGEST_LINE) for _ in range(_ABOVE)]
        first = next((row for row, line in enumerate(head) if len(_split(line)) >= 3), None)
        if first is None:
            raise InputError(label, f"its first {_ABOVE} lines hold no point.", _ACCEPTED)
        stream.seek(sum(map(len, head[:first])))
        row = first
        while lines := [line for line in islice(stream, _CHUNK)]:
            yield _points(lines, row + 1, label)
            row += len(lines)


def _split(line: bytes) -> list[bytes]:
    """The numbers at the start of a line, in plain signs; [] for a line that holds anything else before them."""
    text = line.strip()
    parts = re.split(rb"[\s;]+", text)
    if len(parts) >= 3 and all(part.count(b",") <= 1 for part in parts) and b"." not in b"".join(parts[:3]):
        parts = [part.replace(b",", b".") for part in parts]  # decimal commas
    else:
        parts = re.split(rb"[\s;,]+", text)
    found = []
    for part in parts:
        if not _NUMBER.fullmatch(part):
            break
        found.append(part)
    return found


def _points(lines: list[bytes], row: int, label: str) -> Array:
    """The points of some lines, of which the first is a row of the file; the plain way first, which is quick."""
    there = [line for line in lines if line.strip()]
    if b"," not in lines[0] and b";" not in lines[0]:
        try:
            return np.loadtxt(there, usecols=(0, 1, 2), ndmin=2) if there else np.empty((0, 3))
        except (ValueError, IndexError):
            pass
    return _slowly(lines, row, label)


def _slowly(lines: list[bytes], row: int, label: str) -> Array:
    """The points of some lines, each looked at."""
    told = [(number, line) for number, line in enumerate(lines, row) if line.strip() and not _is_remark(line)]
    rows = [(number, _split(line)[:3]) for number, line in told]
    short = next((number for number, parts in rows if len(parts) < 3), None)
    if short is not None:
        raise InputError(f"{label} row {short}", "three numbers do not start this line.", _ACCEPTED)
    return np.array([[float(part) for part in parts] for _, parts in rows]).reshape(-1, 3)


def _is_remark(line: bytes) -> bool:
    return line.lstrip().startswith((b"#", b"//"))
