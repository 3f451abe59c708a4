"""The package as it is built: wheel and sdist of a copy of this tree; the wheel installed in a folder of its own."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

_LEFT_BEHIND = ("__pycache__", "*.pyc", "*.egg-info", "node_modules", "out", "build")


def copied(root: Path, folder: Path) -> Path:
    """What stands in the tree, without what a clone or a run adds to it."""
    folder.mkdir()
    left = shutil.ignore_patterns(*_LEFT_BEHIND)
    names = {
        path.name
        for path in root.iterdir()
        if path.name in (".ci", ".citation.cff", ".gitignore") or path.name[0] != "."
    }
    for name in names - left(str(root), sorted(names)):
        if (root / name).is_dir():
            shutil.copytree(root / name, folder / name, ignore=left)
        else:
            shutil.copy2(root / name, folder)
    return folder


def built(tree: Path, kind: str, into: Path) -> Path:
    """Build the "wheel" or "sdist" of a tree as a package manager asks for it; answers the file."""
    into.mkdir(exist_ok=True)
    program = f"import sys; sys.path.insert(0, '.ci'); import packing; print(packing.build_{kind}({str(into)!r}))"
    ended = _run([sys.executable, "-c", program], tree)
    return into / ended.splitlines()[-1]


def installed(wheel: Path, folder: Path) -> Path:
    """Install a wheel, without what it needs, in a folder that stands first on the path of `outside`."""
    _run([sys.executable, "-m", "pip", "install", "-q", "--no-deps", "--target", str(folder), str(wheel)], wheel.parent)
    return folder


def outside(folder: Path) -> dict[str, str]:
    """The environment of a shell that knows the installation in a folder and no clone."""
    return {**os.environ, "PYTHONPATH": str(folder), "COLUMNS": "80", "MPLBACKEND": "agg"}


def _run(command: list[str], folder: Path) -> str:
    ended = subprocess.run(command, cwd=folder, capture_output=True, text=True, timeout=300, check=False)
    assert ended.returncode == 0, ended.stderr
    return ended.stdout
