"""Whether the files of a folder are whole sets: each file as the manifest says, and every run from the same inputs."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import chain
from pathlib import Path

from terrain.errors import InputError
from terrain.files.manifest import MANIFEST, Run, listed, read_manifest
from terrain.files.sets import unfinished


@dataclass(frozen=True)
class SetCheck:
    """What a look at a folder found: its runs, and files that are missing or not as their run wrote them.

    `others` names the regular files that no run lists; `apart` tells that runs were made from different inputs or by
    different versions of the tool.
    """

    runs: tuple[Run, ...]
    missing: tuple[str, ...]
    changed: tuple[str, ...]
    others: tuple[str, ...]
    apart: bool

    @property
    def whole(self) -> bool:
        """Whether every file is there as its run wrote it, and all runs belong together."""
        return not (self.missing or self.changed or self.apart)


def check_set(folder: Path) -> SetCheck:
    """Compare every file of a folder with its manifest; nothing is changed.

    Raises `InputError` where the folder holds no set: no manifest, one that is not ours, or a run that was stopped
    while it put its files there.
    """
    if unfinished(folder):
        raise InputError(
            str(folder),
            "a run is putting its files here, or was stopped while it did; there is no whole set.",
            "Run any command into this folder again: it finishes or clears what is left.",
        )
    try:
        runs = read_manifest(folder)
    except ValueError as error:
        raise InputError(str(folder / MANIFEST), f"{error}.", "Run the command again.") from error
    if not runs:
        raise InputError(str(folder), f"there is no {MANIFEST} here, so no whole set.", "Name a folder of results.")
    return _compared(folder, runs)


def _compared(folder: Path, runs: tuple[Run, ...]) -> SetCheck:
    """What the manifest lists, held against what lies in the folder."""
    files = {file.name: file for file in chain.from_iterable(run.files for run in runs)}
    now = {name: listed(folder / name, follow=False) for name in files}
    there = _plain_files(folder)
    return SetCheck(
        runs,
        tuple(name for name in files if now[name] is None),
        tuple(name for name in files if now[name] not in (None, files[name])),
        tuple(sorted(there - set(files) - {MANIFEST})),
        not all(run.reads_as(runs[-1]) for run in runs),
    )


def _plain_files(folder: Path) -> set[str]:
    """Names of the files that are not hidden."""
    return {path.name for path in folder.iterdir() if path.is_file() and not path.name.startswith(".")}
