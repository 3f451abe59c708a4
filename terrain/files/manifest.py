"""Which run wrote which files of a folder: manifest.json names every run with the hash of each of its files."""

from __future__ import annotations

import hashlib
import json
import math
import os
import secrets
import stat
import tomllib
from collections.abc import Iterable, Iterator
from dataclasses import asdict, dataclass, replace
from datetime import UTC, datetime
from importlib.metadata import PackageNotFoundError, version
from itertools import accumulate, chain
from pathlib import Path

from terrain.survey import LARGEST_FILE

MANIFEST = "manifest.json"
FORMAT = "hummock-manifest/1"
ADDING = "export"  # the one command whose runs on the same inputs stand beside each other
_MOST_BYTES = 4_000_000
_NOT_IN_NAMES = frozenset('/\\:\0\n"')


@dataclass(frozen=True)
class Listed:
    """A file: its name, its size in bytes and its SHA-256."""

    name: str
    size: int
    sha256: str


@dataclass(frozen=True)
class Run:
    """One run of a command: what it read (the site file first) and every file that it wrote."""

    run: str
    command: str
    tool: str
    time: str
    inputs: tuple[Listed, ...]
    files: tuple[Listed, ...] = ()

    def reads_as(self, other: Run) -> bool:
        """Tell whether both were made from the same inputs by the same version of the tool."""
        return (self.inputs, self.tool) == (other.inputs, other.tool)

    @property
    def names(self) -> frozenset[str]:
        """Names of its files."""
        return frozenset(file.name for file in self.files)


def begun(command: str, inputs: tuple[Listed, ...]) -> Run:
    """A run that has written nothing yet."""
    try:
        tool = version("hummock")
    except PackageNotFoundError:
        tool = ""
    return Run(secrets.token_hex(8), command, tool, datetime.now(UTC).isoformat(timespec="seconds"), inputs)


def inputs_of(site_file: Path, *more: Path) -> tuple[Listed, ...]:
    """The site file, the files beside it that it names, and others that a run reads; those that are there."""
    home = site_file.resolve().parent
    named = sorted({value for value in _texts(_document(site_file)) if _beside(home, value)})
    paths = {site_file.name: site_file, **{name: home / name for name in named}, **{path.name: path for path in more}}
    found = ((name, listed(path)) for name, path in _readable(paths).items())
    return tuple(replace(one, name=name) for name, one in found if one is not None)


def _readable(paths: dict[str, Path]) -> dict[str, Path]:
    """Those that a reader may open, as long as all together are no more than the largest: any text may name a file."""
    sizes = {name: path.stat().st_size for name, path in paths.items() if path.is_file()}
    smallest_first = sorted(sizes, key=lambda name: sizes[name])
    sums = dict(zip(smallest_first, accumulate(sizes[name] for name in smallest_first), strict=True))
    return {name: path for name, path in paths.items() if sums.get(name, math.inf) <= LARGEST_FILE}


def _document(site_file: Path) -> object:
    try:
        if not stat.S_ISREG(site_file.stat().st_mode) or site_file.stat().st_size > _MOST_BYTES:
            return {}
        return tomllib.loads(site_file.read_text(encoding="utf-8-sig"))
    except (OSError, ValueError, RecursionError):
        return {}  # the reader of the site says what is wrong with it


def _texts(value: object) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict | list):
        for part in value.values() if isinstance(value, dict) else value:
            yield from _texts(part)


def _beside(home: Path, value: str) -> bool:
    """Tell whether a text is the path of a regular file within the folder."""
    try:
        return (home / value).is_file() and (home / value).resolve().is_relative_to(home)
    except (OSError, ValueError):
        return False


def listed(path: Path, *, follow: bool = True) -> Listed | None:
    """A regular file as it is; None for what is none, larger than anything here, or cannot be read.

    Without `follow` a link is none.
    """
    try:
        there = os.stat(path, follow_symlinks=follow)
        if not stat.S_ISREG(there.st_mode) or there.st_size > LARGEST_FILE:
            return None
        with path.open("rb") as file:
            digest = hashlib.file_digest(file, "sha256").hexdigest()
            return Listed(path.name, os.fstat(file.fileno()).st_size, digest)
    except OSError:
        return None


def is_plain_name(name: object) -> bool:
    """Tell whether a name can only mean a file within its folder."""
    return isinstance(name, str) and 0 < len(name) < 256 and name.strip(".") != "" and not set(name) & _NOT_IN_NAMES


def as_manifest(runs: Iterable[Run]) -> bytes:
    """The text of manifest.json."""
    plain = {"format": FORMAT, "runs": [asdict(run) for run in runs]}
    return (json.dumps(plain, indent=2, ensure_ascii=False) + "\n").encode()


def read_manifest(folder: Path) -> tuple[Run, ...]:
    """The runs whose files lie in a folder, the earliest first; none where it has no manifest.

    Raises `ValueError` where there is one that this program did not write.
    """
    path = folder / MANIFEST
    try:
        if not stat.S_ISREG(os.lstat(path).st_mode) or path.stat().st_size > _MOST_BYTES:
            raise ValueError("it is no file of this program")
        plain = json.loads(path.read_bytes())
        if plain["format"] != FORMAT:
            raise ValueError(f"its format is not {FORMAT}")
        return tuple(_run(one) for one in plain["runs"])
    except FileNotFoundError:
        return ()
    except (KeyError, TypeError, AttributeError, OSError, RecursionError) as error:
        raise ValueError(f"it cannot be read ({type(error).__name__})") from error


def _run(plain: dict[str, object]) -> Run:
    texts = {key: str(plain[key]) for key in ("run", "command", "tool", "time")}
    return Run(**texts, inputs=_all_listed(plain["inputs"]), files=_all_listed(plain["files"], plain_names=True))


def _all_listed(found: object, *, plain_names: bool = False) -> tuple[Listed, ...]:
    if not isinstance(found, list):
        raise ValueError("it lists no files")
    files = tuple(Listed(one["name"], int(one["size"]), str(one["sha256"])) for one in found)
    if plain_names and not all(is_plain_name(file.name) for file in files):
        raise ValueError("it names files outside its folder")
    return files


@dataclass(frozen=True)
class After:
    """What a new run leaves of the others: runs that it does not touch, runs as they end, and files that must go."""

    untouched: tuple[Run, ...]
    runs: tuple[Run, ...]
    leaving: tuple[Listed, ...]


def after(before: Iterable[Run], new: Run) -> After:
    """What stands beside a new run.

    An earlier run of the same command goes, as does one made from other inputs of which the new run replaces a file:
    half of it would be left. One made from the same inputs hands over the files that both wrote, since they say the
    same. Runs of `ADDING` on the same inputs stand beside each other.
    """
    before = tuple(before)
    staying = [old for old in before if not _gives_way(old, new)]
    left = (_less(old, new) for old in staying)
    leaving = (_less(old, new).files for old in before if old not in staying)
    return After(
        tuple(old for old in staying if not old.names & new.names),
        (*(run for run in left if run.files), new),
        tuple(chain.from_iterable(leaving)),
    )


def _gives_way(old: Run, new: Run) -> bool:
    """Whether an earlier run goes as a whole."""
    same = old.reads_as(new)
    again = old.command == new.command and not (same and new.command == ADDING)
    return again or bool(old.names & new.names and not same)


def _less(old: Run, new: Run) -> Run:
    """An earlier run without the files that the new one wrote too."""
    return replace(old, files=tuple(file for file in old.files if file.name not in new.names))
