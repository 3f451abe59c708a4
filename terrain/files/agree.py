"""Whether the files of a folder say the same of the yard: each read back, and what they tell held side by side."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from terrain.errors import InputError
from terrain.files.manifest import MANIFEST
from terrain.files.read_back import ORDERED, PLACED
from terrain.survey import RESULTS, read_parts_apart

# Of a volume: meshes are delivered within 3 mm of height; a cell at the edge of the bed counts whole or not at all.
_THINNED, _ON_CELLS = 2e-3, 1e-2
_CELLS = ".tif"


@dataclass(frozen=True)
class SideBySide:
    """What several files tell of one thing: the value of each, whether they agree, and by how much they differ.

    Volumes are in m3; `apart` is a share of the first, 0.0 for words and counts.
    """

    what: str
    values: tuple[tuple[str, Any], ...]
    agree: bool
    apart: float


@dataclass(frozen=True)
class ReadBack:
    """Every file of a folder read back: which were read, what is wrong with those that could not be, what they tell."""

    read: tuple[str, ...]
    broken: tuple[str, ...]
    told: tuple[SideBySide, ...]

    @property
    def agrees(self) -> bool:
        """Whether every file could be read and all say the same."""
        return not self.broken and all(one.agree for one in self.told)


def read_all_back(folder: Path, names: Sequence[str]) -> ReadBack:
    """Read files of a folder back, each in a process with bounds, and compare what they tell."""
    found: dict[str, Mapping[str, Any]] = {}
    broken = []
    for name in sorted(set(names) - {MANIFEST}):
        try:
            found[name] = read_parts_apart(RESULTS, folder / name, name)
        except InputError as fault:
            broken.append(str(fault))
    kinds = dict.fromkeys(kind for values in found.values() for kind in values)
    told = (_compared(kind, {name: values[kind] for name, values in found.items() if kind in values}) for kind in kinds)
    return ReadBack(tuple(found), tuple(broken), tuple(told))


def _compared(kind: str, values: Mapping[str, Any]) -> SideBySide:
    """The values of several files beside each other; the figures of a summary come first, which are exact."""
    ordered = tuple(sorted(values.items(), key=lambda item: (not item[0].endswith(".json"), item[0])))
    if kind not in (PLACED, ORDERED):
        return SideBySide(kind, ordered, len(set(values.values())) == 1, 0.0)
    first = float(ordered[0][1])
    shares = {name: abs(float(value) - first) / max(abs(first), 1e-9) for name, value in ordered}
    agree = all(share <= (_ON_CELLS if name.endswith(_CELLS) else _THINNED) for name, share in shares.items())
    return SideBySide(kind, ordered, agree, max(shares.values()))
