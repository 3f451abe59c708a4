"""Pages of the guide that follow from what is there: the library by what its door offers, changes by the commits."""

from __future__ import annotations

import subprocess
from pathlib import Path
from typing import Any

from mkdocs.structure.files import File, Files

ROOT = Path(__file__).resolve().parent.parent


def on_files(files: Files, config: Any) -> Files:
    """Add both pages to those that are written."""
    for name, text in (("library.md", library()), ("changes.md", changes())):
        files.append(File.generated(config, name, content=text))
    return files


def library() -> str:
    """Every public name under its own heading, with the docstring that stands in the code."""
    import terrain
    import viewer.plots

    plots = [f"viewer.plots.{name}" for name in dir(viewer.plots)]
    shown = [f"::: {name}" for name in (*(f"terrain.{name}" for name in sorted(terrain.__all__)), *plots)]
    told = "All of it is offered by `import hummock`. Metres, m2, m3 and rise/run; arrays are numpy's."
    return "\n\n".join(["# The library", told, *shown]) + "\n"


def changes() -> str:
    """The first lines of all commits, day by day, the newest first."""
    command = ["git", "log", "--no-merges", "--date=short", "--format=%ad%x09%s"]
    told = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False).stdout
    lines, day = ["# Changes", "", "Newest first; each line says what the tool can do since, or why it was needed."], ""
    for date, _, words in (line.partition("\t") for line in told.splitlines()):
        if date != day:
            lines += ["", f"## {date}", ""]
            day = date
        lines.append(f"- {_as_text(words)}")
    if not day:
        lines += ["", "The commits are not here: they stand in the repository."]
    return "\n".join(lines) + "\n"


def _as_text(words: str) -> str:
    """A text that no sign of Markdown or HTML changes."""
    return "".join(f"\\{sign}" if sign in "\\`*_{}[]<>#|" else sign for sign in words)
