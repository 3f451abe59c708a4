"""What streams need, on the terminal."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path

from rich.text import Text

from cli.report import STYLES, ground_lines, shown_names, shown_path
from cli.terminal import Line, labelled, on_terminal
from terrain.flow import Study
from terrain.review import stream_findings
from terrain.units import show_length, show_place
from terrain.waterworks import StreamNeeds, laid_rows, sill_words, tolerance_words, water_rows


def print_stream(study: Study, names: Sequence[str], folder: Path) -> None:
    """Print what every stream needs on standard output, then what to heed."""
    with on_terminal() as console:
        console.print(Text(study.site.name, style="bold"))
        console.print(labelled(ground_lines(study)))
        for needs in study.streams:
            console.print(Text(f"\n{needs.materials.name}", style="bold"))
            console.print(labelled(_lines(study, needs)))
        console.print()
        console.print(labelled(_ending(study, names, folder)))


def _lines(study: Study, needs: StreamNeeds) -> Iterator[Line]:
    units = study.site.units
    yield from water_rows(needs, units)
    yield from laid_rows(needs, units)
    label = "Sills"
    for sill in needs.materials.parts.sills:
        level = show_length(sill.day_one, units, "sill")
        yield label, f"{sill.name} at {show_place(*sill.at, units)}: set at {level}, {sill_words(sill, units)}"
        label = ""
    yield "", f"each within {tolerance_words(units)}"


def _ending(study: Study, names: Sequence[str], folder: Path) -> Iterator[Line]:
    found = stream_findings(study.review.checks)
    told = [one for one in study.review.findings if one.level == "stop" and one not in found]
    for finding in [*told, *sorted(found, key=lambda one: ("stop", "caution", "note").index(one.level))]:
        yield finding.level.capitalize(), Text(finding.text, STYLES[finding.level])
    yield "Files", f"in {shown_path(folder)}: {shown_names(tuple(names))}"
