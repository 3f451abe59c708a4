"""Libraries that only some uses need: whether they are there, and how they come in, by how the tool was installed."""

from __future__ import annotations

import importlib
import json
import os
import sys
from importlib.util import find_spec
from pathlib import Path

from terrain.errors import InputError

_HOME = Path(__file__).resolve().parent.parent  # of the packages: a clone, or where installed packages lie


def is_there(library: str) -> bool:
    """Tell whether a library can be imported, without importing it."""
    return find_spec(library.partition(".")[0]) is not None


def library(name: str, where: str, work: str, extra: str = "exchange") -> object:
    """Import a library that only some sites need; `InputError` says how to install it where it is not there.

    `where` opens the message, `work` is what needs the library, and `extra` the part of the installation that has it.
    """
    try:
        return importlib.import_module(name)
    except ImportError:
        problem = f"{work} needs the library {name.partition('.')[0]}, which is not installed."
        raise InputError(where, problem, how_to_install(extra)) from None


def how_to_install(extra: str) -> str:
    """The command that installs an extra, as a sentence: from the clone where the tool runs or came from one."""
    return advice_for(extra, _HOME, _source())


def advice_for(extra: str, home: Path, source: Path | None) -> str:
    """The sentence for packages at `home`, installed from the folder `source` (None: not from a folder)."""
    if (home / "pyproject.toml").is_file():
        return f'Install it in {home}: {_pip(home)} install -e ".[{extra}]"'
    if source is not None and (source / "pyproject.toml").is_file():
        return f'Install it in {source}: {_pip(source)} install ".[{extra}]"'
    return f'Install it: {_pip(None)} install "hummock[{extra}]"'


def _pip(clone: Path | None) -> str:
    """The pip of this interpreter: short where it lies in the clone, or is the first that a terminal finds."""
    beside = Path(sys.prefix) / ("Scripts" if os.name == "nt" else "bin") / "pip"
    if clone is not None and beside.is_relative_to(clone):
        return beside.relative_to(clone).as_posix()
    return "pip" if clone is None else f'"{sys.executable}" -m pip'


def _source() -> Path | None:
    """The folder that pip installed the tool from (PEP 610), where it was one."""
    from importlib.metadata import PackageNotFoundError, distribution
    from urllib.parse import urlsplit
    from urllib.request import url2pathname

    try:
        url = json.loads(distribution("hummock").read_text("direct_url.json") or "{}").get("url", "")
    except (PackageNotFoundError, ValueError):
        return None
    parts = urlsplit(url)
    return Path(url2pathname(parts.path)) if parts.scheme == "file" else None
