"""A file of our own results, read back by what wrote its kind: `terrain.files.read_back` knows them all."""

from __future__ import annotations

from collections.abc import Mapping
from importlib import import_module
from pathlib import Path
from typing import Any

from terrain.survey.measured import ReadOptions


def read(path: Path, label: str, asked: ReadOptions) -> Mapping[str, Any]:
    """What the file tells of the yard, as plain values; raises `InputError` for one that cannot be read."""
    told: Mapping[str, Any] = import_module("terrain.files.read_back").read(path, label)
    return told
