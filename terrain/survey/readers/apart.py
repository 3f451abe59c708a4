"""Foreign formats are read in a process of their own, with a bound on its memory and its time.

The libraries that read them are large and trust what a file says of itself: one that lies can end the process, take
all memory or never come back. The process that reads may be lost; the command answers with one sentence.
"""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from threading import Timer
from typing import Any, TypeVar

from terrain.errors import InputError
from terrain.survey.files import FIX, MEBIBYTE, opened
from terrain.survey.measured import Measured, ReadOptions
from terrain.survey.readers.carried import measured_of, parts_of, question, told_and_body

Answer = TypeVar("Answer")

MEMORY = 1024 * MEBIBYTE  # of address space
LARGEST_FILE = 2048 * MEBIBYTE
_LARGEST_ANSWER = 256 * MEBIBYTE
_LEAST_SECONDS = 8.0  # of work, with which a small file is answered within 10 s
_BYTES_A_SECOND = 1_000_000.0  # that a slow machine reads of a large file
_WAITING = 5.0  # times that long by the clock: other programs want the machine too
_CHILD = "terrain.survey.readers.child"


@dataclass(frozen=True)
class Foreign:
    """A format: the module of its reader, what a file of it is called, and what would be accepted."""

    reader: str
    noun: str
    accepted: str


CLOUD = Foreign("cloud", "LAS point cloud", "Accepted: LAS or LAZ.")
DRAWING = Foreign("drawing", "DXF drawing", "Save it again as DXF.")
HEIGHTS = Foreign("heights", "GeoTIFF", "Accepted: a GeoTIFF of heights.")
PLAN = Foreign("plan", "DXF drawing", "Save it again as DXF.")
WORKBOOK = Foreign("sheets", "workbook", "Save it again as .xlsx.")
PICTURE = Foreign("picture", "photograph", "Accepted: a JPEG or a PNG; save others as one of these.")
KML = Foreign("kml", "KML file", "Accepted: KML or KMZ.")
GPX = Foreign("gpx", "GPX file", "Accepted: GPX.")
GPKG = Foreign("gpkg", "GeoPackage", "Accepted: a GeoPackage of features.")
SHP = Foreign("shp", "shapefile", "Accepted: a shapefile, with its .dbf and .prj beside it.")
RESULTS = Foreign("results", "file of results", "Write it again.")
ORTHO = Foreign("ortho", "GeoTIFF picture", "Accepted: a GeoTIFF of red, green and blue.")
LANDXML = Foreign("landxml", "LandXML file", "Accepted: LandXML surfaces.")
SCAN = Foreign("scan", "scan", "Accepted: PLY, OBJ, GLB, LAS, LAZ or a text file of x, y, z.")
_KINDS = (CLOUD, DRAWING, HEIGHTS, PLAN, WORKBOOK, PICTURE, KML, GPX, GPKG, SHP, LANDXML, RESULTS, ORTHO, SCAN)
READERS = {kind.reader: kind for kind in _KINDS}


def read_apart(kind: Foreign, path: Path, label: str, asked: ReadOptions) -> Measured:
    """Read measurements of a foreign format in a process of their own.

    Raises
    ------
    InputError
        From the reader; where the process was lost, ran out of time or of memory.
    """
    return _read(kind, path, label, asked, measured_of)


def read_parts_apart(kind: Foreign, path: Path, label: str) -> Mapping[str, Any]:
    """Read a foreign format that holds more than measurements, as plain values; raises as `read_apart`."""
    return _read(kind, path, label, ReadOptions("m", "m"), parts_of)


def read_body_apart(
    kind: Foreign, path: Path, label: str, asked: ReadOptions | None = None
) -> tuple[Mapping[str, Any], bytes]:
    """Read a foreign format that holds bytes, and what is told of them; raises as `read_apart`."""
    return _read(kind, path, label, asked or ReadOptions("m", "m"), told_and_body)


def _read(kind: Foreign, path: Path, label: str, asked: ReadOptions, understood: Callable[[bytes], Answer]) -> Answer:
    with opened(path, label, FIX, LARGEST_FILE) as stream:
        size = os.fstat(stream.fileno()).st_size
    seconds = _LEAST_SECONDS + size / _BYTES_A_SECOND
    told = question(kind.reader, Path(os.path.abspath(path)), label, asked)
    data, status = _answered(told, seconds)
    if status == 0:
        try:
            return understood(data)
        except (ValueError, KeyError, TypeError):
            pass  # no answer of ours: as good as none
    raise InputError(label, _lost(kind, status, seconds), kind.accepted)


def _answered(told: bytes, seconds: float) -> tuple[bytes, int]:
    """The bytes that the process answers and its exit status, negative for the signal that ended it."""
    home = str(Path(__file__).resolve().parents[3])
    search = os.pathsep.join(filter(None, [home, os.environ.get("PYTHONPATH", "")]))
    # -P: a folder of the user's that happens to be called "terrain" is not ours. -B: nothing is written.
    process = subprocess.Popen(
        [sys.executable, "-P", "-B", "-m", _CHILD, str(MEMORY), str(int(seconds))],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        env={**os.environ, "PYTHONPATH": search, "OPENBLAS_NUM_THREADS": "1"},
    )
    assert process.stdin is not None
    assert process.stdout is not None
    watch = Timer(_WAITING * seconds, process.kill)
    watch.start()
    try:
        with process.stdin, process.stdout:
            try:
                process.stdin.write(told)
                process.stdin.close()
            except BrokenPipeError:
                pass  # it ended before it listened; its status says how
            data = process.stdout.read(_LARGEST_ANSWER)
        return data, process.wait()
    finally:
        watch.cancel()
        process.kill()
        process.wait()


def _lost(kind: Foreign, status: int, seconds: float) -> str:
    """What became of a process that did not answer."""
    slow = -status in (getattr(signal, name, 0) for name in ("SIGXCPU", "SIGKILL")) and status != 0
    if slow:
        return f"reading it takes more than {seconds:.0f} seconds of work."
    return f"this is not a readable {kind.noun}: the library that reads it gave up."
