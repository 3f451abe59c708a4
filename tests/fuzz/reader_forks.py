"""A process that answers each reader's question in a fork of its own: the start of an interpreter for each would take
hours. It loads the libraries and never calls them, so that a fork finds no thread of theirs missing.

`python reader_forks.py`: a question a line on standard input, as JSON with its "seconds"; on standard output a line of
JSON with the status and the number of bytes, and the bytes.
"""

from __future__ import annotations

import faulthandler
import json
import os
import select
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from importlib import import_module
from pathlib import Path

from terrain.survey.readers import apart
from terrain.survey.readers.child import answered, bound

HANG = 10.0  # seconds


class Forks:
    """The process, seen from the one that asks."""

    def __init__(self, process: subprocess.Popen[bytes]) -> None:
        self._process = process

    def answered(self, told: bytes, seconds: float) -> tuple[bytes, int]:
        """The bytes that a reader answers and its status, as `terrain.survey.readers.apart` has them."""
        assert self._process.stdin is not None
        assert self._process.stdout is not None
        self._process.stdin.write(json.dumps({"told": told.decode(), "seconds": seconds}).encode() + b"\n")
        self._process.stdin.flush()
        heard = json.loads(self._process.stdout.readline())
        return self._process.stdout.read(heard["bytes"]), heard["status"]


@contextmanager
def reader_forks(root: Path) -> Iterator[Forks]:
    """The process while it is needed."""
    process = subprocess.Popen(
        [sys.executable, __file__],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        env={**os.environ, "PYTHONPATH": str(root), "OPENBLAS_NUM_THREADS": "1"},
    )
    try:
        yield Forks(process)
    finally:
        process.kill()
        process.communicate()


def _in_a_fork(told: bytes, seconds: float) -> tuple[bytes, int]:
    ear, mouth = os.pipe()
    child = os.fork()
    if not child:
        try:
            faulthandler.disable()  # an abort is an answer here
            bound(_address_space() + apart.MEMORY, int(seconds))
            data = answered(json.loads(told))
            while data:
                data = data[os.write(mouth, data) :]
        finally:
            os._exit(0)
    os.close(mouth)
    try:
        return _heard(ear, child)
    finally:
        os.close(ear)


def _heard(ear: int, child: int) -> tuple[bytes, int]:
    data = b""
    stop = time.monotonic() + 6 * HANG  # other programs want the machine too; the work of the fork is bounded by itself
    while time.monotonic() < stop:
        if select.select([ear], [], [], 1.0)[0]:
            part = os.read(ear, 2**20)
            if not part:
                break
            data += part
    else:
        os.kill(child, signal.SIGKILL)
    return data, os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])


def _address_space() -> int:
    """Bytes of address space that this process has, all of which a fork has too."""
    return int(Path("/proc/self/statm").read_text().split()[0]) * os.sysconf("SC_PAGE_SIZE")


def _serve() -> None:
    for reader in apart.READERS:
        import_module(f"terrain.survey.readers.{reader}")
    for library in ("ezdxf", "laspy", "lazrs", "rasterio", "trimesh.exchange.load", "scipy.ndimage", "scipy.spatial"):
        import_module(library)
    out = os.fdopen(os.dup(1), "wb")
    os.dup2(os.open(os.devnull, os.O_WRONLY), 1)  # what a library says of itself is no answer
    for line in sys.stdin.buffer:
        asked = json.loads(line)
        data, status = _in_a_fork(asked["told"].encode(), asked["seconds"])
        out.write(json.dumps({"status": status, "bytes": len(data)}).encode() + b"\n" + data)
        out.flush()


if __name__ == "__main__":
    _serve()
