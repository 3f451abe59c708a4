"""A new yard that is not saved yet, kept in its folder so that neither a closed page nor a stopped command loses it."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

from terrain.errors import InputError, OutputError
from terrain.files import save
from terrain.interview import Entries, entries_of, read_entries
from terrain.survey import read_bytes
from terrain.units import Units
from viewer.web.live.draft import MOST_BYTES, draft_path

FORMAT = "hummock-new-yard/1"
NAMES = ("site.toml", "bed.csv", "shots.csv")


@dataclass(frozen=True)
class YardDraft:
    """What was typed, and the files as this page saved them before, each by its name."""

    entries: Entries = field(default_factory=dict)
    saved: Mapping[str, str] = field(default_factory=dict)


def yard_draft_path(folder: Path) -> Path:
    """Where a new yard is kept until it is saved."""
    return draft_path(folder / NAMES[0])


def read_yard_draft(folder: Path, units: Units) -> YardDraft:
    """What an earlier page of this folder kept; an empty one where there is none.

    Raises
    ------
    OutputError
        Where what lies there is none: it is left as it is.
    """
    path = yard_draft_path(folder)
    if not path.is_symlink() and not path.exists():
        return YardDraft()
    try:
        draft = _draft_of(json.loads(read_bytes(path, "the unsaved yard", most=MOST_BYTES, follow=False)))
        read_entries(draft.entries, units)
    except (OSError, ValueError, RecursionError, InputError) as error:
        raise OutputError(
            f"{path}: holds no unsaved yard that can be read; nothing was changed. Move it away, or give a new folder."
        ) from error
    return draft


def _draft_of(found: object) -> YardDraft:
    """A draft out of JSON values; `ValueError` or `InputError` where it is none. It names no files but the folder's."""
    if not isinstance(found, dict) or found.get("format") != FORMAT:
        raise ValueError
    entries, saved = entries_of(found.get("entries")), found.get("saved")
    if not isinstance(saved, dict) or not all(isinstance(text, str) for text in saved.values()):
        raise ValueError
    return YardDraft(entries, {name: saved[name] for name in NAMES if name in saved})


def write_yard_draft(folder: Path, draft: YardDraft) -> None:
    """Keep a yard in its folder, whole or not at all. `OSError` or `OutputError` where it cannot be written."""
    kept = {"format": FORMAT, "entries": dict(draft.entries), "saved": dict(draft.saved)}
    save(yard_draft_path(folder), json.dumps(kept).encode())
