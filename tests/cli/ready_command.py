"""The real command in a process of its own, without the start of an interpreter and its libraries for each.

One process loads what every command loads, and answers each call in a fork of its own: words, folder, environment as
given, both streams and the status as a shell would have them. It never runs a command itself, so that no call finds
what another left; only the library works the starter's yard once, for its machine code. Runs that test the start
itself use `sys.executable -m cli.main`.

`python ready_command.py`: a line of JSON for each call on standard input; the status on standard output.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from importlib import import_module
from pathlib import Path

Run = subprocess.CompletedProcess[str]
_LOADED = (
    *("numba", "scipy.ndimage", "scipy.spatial", "scipy.optimize", "scipy.stats", "shapely", "pydantic", "tomlkit"),
    *("rich.progress", "rich.table", "trimesh", "xlsxwriter", "contourpy", "matplotlib.figure", "terrain.flow"),
    *("matplotlib.backends.backend_agg", "matplotlib.backends.backend_pdf", "terrain.site.read", "viewer.draw"),
    *("cli.main", "cli.progress", "cli.outputs", "cli.order_files", "cli.ground_files", "cli.tree_files"),
)


class Ready:
    """The process, seen from the tests."""

    def __init__(self, process: subprocess.Popen[bytes]) -> None:
        self._process = process

    def run(self, words: list[str], folder: Path, environment: Mapping[str, str], first: str = "") -> Run:
        """What `hummock` with these words says, and its status, after some code where there is any."""
        assert self._process.stdin is not None
        assert self._process.stdout is not None
        with tempfile.TemporaryDirectory() as said:
            asked = {"words": words, "folder": str(folder), "environment": dict(environment), "said": said}
            asked["first"] = first
            self._process.stdin.write(json.dumps(asked).encode() + b"\n")
            self._process.stdin.flush()
            status = int(self._process.stdout.readline())
            out, error = (Path(said, name).read_text(encoding="utf-8") for name in ("out", "error"))
        return Run(["hummock", *words], status, out, error)


@contextmanager
def ready_command(root: Path) -> Iterator[Ready]:
    """The process while it is needed; `root` is the folder whose packages it runs."""
    process = subprocess.Popen(
        [sys.executable, __file__],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        env={**os.environ, "PYTHONPATH": str(root)},
    )
    try:
        yield Ready(process)
    finally:
        process.stdin.close()  # type: ignore[union-attr]
        process.wait(timeout=30)


def _answered(asked: dict[str, object]) -> int:
    child = os.fork()
    if not child:
        status = 70
        try:
            status = _command(asked)
        finally:
            os._exit(status)
    return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])


def _command(asked: dict[str, object]) -> int:
    said = str(asked["said"])
    os.chdir(str(asked["folder"]))
    os.environ.clear()
    os.environ.update(asked["environment"])  # type: ignore[arg-type]
    os.dup2(os.open(os.devnull, os.O_RDONLY), 0)
    os.dup2(os.open(os.path.join(said, "out"), os.O_WRONLY | os.O_CREAT), 1)
    os.dup2(os.open(os.path.join(said, "error"), os.O_WRONLY | os.O_CREAT), 2)
    exec(str(asked["first"]), {"__name__": "first"})
    main = import_module("cli.main").main
    try:
        main(asked["words"])
    except SystemExit as end:
        return end.code if isinstance(end.code, int) else int(end.code is not None)
    finally:
        sys.stdout.flush()
        sys.stderr.flush()
    return 0


def _serve() -> None:
    for name in _LOADED:
        import_module(name)
    _run_once()
    told = os.fdopen(os.dup(1), "wb")
    for line in os.fdopen(os.dup(0), "rb"):
        told.write(b"%d\n" % _answered(json.loads(line)))
        told.flush()


def _run_once() -> None:
    """Work one small yard, so that the machine code of every loop is there and no fork loads it for itself."""
    from terrain import read_site, run_site, write_files

    starter = Path(__file__).resolve().parents[2] / "cli/starter/feet/site.toml"
    with tempfile.TemporaryDirectory() as folder:
        write_files(run_site(read_site(starter)), folder)


if __name__ == "__main__":
    _serve()
