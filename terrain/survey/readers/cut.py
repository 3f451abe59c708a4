"""Point clouds that end before they hold what they promise: how many points were promised, and how many are there."""

from __future__ import annotations

import io
import struct
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from terrain.errors import InputError

_HEADER = 375  # bytes of the longest header
# Where the header counts its records, and the least that one of them takes: LAS specification 1.4 R15, tables 3 and 4
# (variable length records, and extended ones at the end of the file).
_RECORDS = ((100, 54), (243, 60))
_CHUNK = 50_000  # points: as many as compressed files pack together
_LARGEST_LOOK = 256 * 2**20  # bytes of a cut file that are gone through for its whole points


def refuse_cut(laspy: Any, path: Path, label: str) -> None:
    """Refuse a file that is too short for the points of its header.

    Uncompressed points have one length. Compressed ones lie before a table, whose place is their first word: a cut
    download has lost it (LAZ specification 1.4, chunk table).
    """
    size = path.stat().st_size
    with path.open("rb") as stream:
        _refuse_records(stream.read(_HEADER), size, label)
        stream.seek(0)
        header = laspy.LasHeader.read_from(stream)
        start = int(header.offset_to_point_data)
        stream.seek(start)
        word = stream.read(8)
    if not header.are_points_compressed:
        found = max(0, size - start) // int(header.point_format.size)
        if found < header.point_count:
            raise _cut(label, header.point_count, found)
    elif len(word) < 8 or struct.unpack("<q", word)[0] > size - 8:
        raise _cut(label, header.point_count, _found(laspy, path, start) if size <= _LARGEST_LOOK else 0)


def _refuse_records(head: bytes, size: int, label: str) -> None:
    """Refuse a file without room for the records of its header, each of which would be looked for."""
    length = struct.unpack_from("<H", head, 94)[0] if len(head) >= 96 else 0
    for at, least in _RECORDS:
        count = struct.unpack_from("<I", head, at)[0] if at + 4 <= min(len(head), length) else 0
        if count * least > size:
            raise InputError(
                label, f"its header promises {count:,} records in {size:,} bytes: it is damaged.", "Fetch it again."
            )


def whole_points(reader: Any, label: str) -> Iterator[Any]:
    """The points of an open cloud, chunk by chunk.

    Raises
    ------
    InputError
        Where they end, or cannot be unpacked, before there are as many as promised.
    """
    promised, found = int(reader.header.point_count), 0
    while found < promised:
        try:
            chunk = reader.read_points(min(_CHUNK, promised - found))
        except Exception as error:  # of either library that unpacks them
            if isinstance(error, MemoryError):
                raise
            raise _cut(label, promised, found) from None
        if not len(chunk):
            raise _cut(label, promised, found)
        found += len(chunk)
        yield chunk


def _found(laspy: Any, path: Path, start: int) -> int:
    """Whole compressed points of a file without its table: an empty table is put behind what is there."""
    data = bytearray(path.read_bytes())
    if len(data) < start + 8:
        return 0
    struct.pack_into("<q", data, start, len(data))
    data += struct.pack("<II", 0, 0)
    found = 0
    with laspy.open(io.BytesIO(bytes(data)), laz_backend=laspy.LazBackend.Lazrs) as reader:
        try:
            for chunk in whole_points(reader, ""):
                found += len(chunk)
        except InputError:
            return found
    return found


def _cut(label: str, promised: int, found: int) -> InputError:
    return InputError(
        label,
        f"its header promises {promised:,} points, but {found:,} are there: it was cut short or is damaged.",
        "Fetch it again.",
    )
